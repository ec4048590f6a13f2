"""A name for each request, so that an error a script reports can be found in the log."""

import re
import uuid
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

HEADER = "X-Request-ID"
_ALLOWED = re.compile(r"[A-Za-z0-9._-]{1,64}")


class RequestIdMiddleware:
    """Takes the caller's X-Request-ID where it is a plain word, makes one otherwise, and sends it back."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        given = request.headers.get(HEADER, "")
        request.request_id = given if _ALLOWED.fullmatch(given) else uuid.uuid4().hex  # type: ignore[attr-defined]
        response = self.get_response(request)
        response[HEADER] = request.request_id  # type: ignore[attr-defined]
        return response


def request_id_of(request: object) -> str:
    """The request's name; empty outside the middleware."""
    return getattr(request, "request_id", "")
