"""The API's description, and the page that shows it: both public, both served from here without the network."""

from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, ClassVar

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render, resolve_url
from django.views.decorators.http import require_safe
from rest_framework.request import Request

from api.versions import not_modified
from api.views.base import Endpoint

DESCRIPTION_FILE = Path(__file__).parent.with_name("openapi.json")


class Description(Endpoint):
    """The description as it is checked in; a test holds it against the code."""

    authentication_classes: ClassVar[list[Any]] = []
    permission_classes: ClassVar[list[Any]] = []
    schema = None

    def get(self, request: Request) -> HttpResponse:
        """The document, or 304 where If-None-Match has it."""
        content, etag = _document()
        if not_modified(request, etag):
            return HttpResponse(status=304, headers={"ETag": etag})
        return HttpResponse(content, content_type="application/json", headers={"ETag": etag})


@require_safe
@login_not_required
def documentation(request: HttpRequest) -> HttpResponse:
    """The page; calls tried on it are made as whoever is signed in, or with a token that is typed in."""
    sign_in = f"{resolve_url(settings.LOGIN_URL)}?next={request.path}"
    return render(request, "api/documentation.html", {"sign_in": sign_in})


@cache
def _document() -> tuple[bytes, str]:
    content = DESCRIPTION_FILE.read_bytes()
    return content, f'"{sha256(content).hexdigest()[:32]}"'
