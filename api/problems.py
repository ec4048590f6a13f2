"""Errors as problem details (RFC 9457): what was wrong, where, and what would be right.

`type` is a URN that names the kind; `errors` lists each fault with the JSON pointer (RFC 6901) of its field, the name
of its query parameter, or its line and column of a table; `request_id` finds the call in the log.
"""

import logging
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.http import Http404
from rest_framework import exceptions, status
from rest_framework.response import Response
from rest_framework.views import set_rollback

from api.request_ids import request_id_of
from showplan.services.errors import (
    CellFault,
    FieldFault,
    InvalidDocument,
    InvalidInput,
    InvalidTable,
    NotAllowed,
    NotFound,
    PlanImpossible,
    RuleBroken,
    StaleWrite,
    StillInUse,
)

log = logging.getLogger("showplan.api")
MEDIA_TYPE = "application/problem+json"

TITLES = {
    400: "The request cannot be read",
    401: "Who are you?",
    403: "Not allowed",
    404: "Not found",
    405: "Method not allowed here",
    406: "No such representation",
    409: "In conflict with what is there",
    412: "Someone else was faster",
    413: "The request is too large",
    415: "This media type cannot be read here",
    422: "The values break a rule",
    428: "Say which version you saw",
    429: "Too many requests",
    500: "Our fault",
}


class Problem(exceptions.APIException):
    """A problem raised by a view itself."""

    retry_after_s: int | None = None

    def __init__(self, http_status: int, kind: str, detail: str, **members: Any) -> None:
        self.status_code, self.kind, self.members = http_status, kind, members
        super().__init__(detail)


def bad_parameter(name: str, detail: str) -> Problem:
    """400 for a query parameter."""
    return Problem(400, "bad-parameter", f"{name}: {detail}", errors=[{"parameter": name, "detail": detail}])


def problem(http_status: int, kind: str, detail: str, **members: Any) -> dict[str, Any]:
    """The members of a problem document."""
    head = {"type": f"urn:showplan:problem:{kind}", "title": TITLES[http_status], "status": http_status}
    return {**head, "detail": detail, **members}


def handle(error: Exception, context: Mapping[str, Any]) -> Response:
    """DRF's exception handler: every error of the API leaves through here."""
    set_rollback()
    request = context["request"]
    document, headers = _document(error, context)
    document |= {"instance": request.path, "request_id": request_id_of(request)}
    return Response(_sendable(document), document["status"], headers=headers, content_type=MEDIA_TYPE)


def _document(error: Exception, context: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, str]]:
    match error:
        case Problem():
            headers = {"Retry-After": str(error.retry_after_s)} if error.retry_after_s else {}
            return problem(error.status_code, error.kind, str(error.detail), **error.members), headers
        case InvalidInput():
            return problem(422, "invalid-input", str(error), errors=list(faults_with_pointers(error.faults))), {}
        case InvalidDocument():
            errors = [{"pointer": fault.pointer, "detail": fault.message} for fault in error.faults]
            return problem(422, "invalid-input", "; ".join(_brief(one) for one in errors[:5]), errors=errors), {}
        case InvalidTable():
            detail = "; ".join(str(fault) for fault in error.faults[:5])
            return problem(422, "invalid-input", detail, errors=[_cell(fault) for fault in error.faults]), {}
        case StaleWrite():
            return problem(412, "stale-write", str(error), version=error.now), {}
        case StillInUse():
            return problem(409, "still-in-use", str(error)), {}
        case RuleBroken():
            return problem(409, "rule-broken", str(error)), {}
        case NotFound() | Http404():
            return problem(404, "not-found", str(error) or "there is nothing at this address"), {}
        case NotAllowed() | PermissionDenied():
            return problem(403, "not-allowed", str(error) or "this is not allowed"), {}
        case PlanImpossible():
            faults = [{"pointer": fault.pointer, "detail": fault.message} for fault in error.faults]
            return problem(409, "plan-impossible", "the venue's records break a rule of the planner", errors=faults), {}
        case RequestDataTooBig():
            return problem(413, "too-large", "the body is larger than this service reads"), {}
        case exceptions.ValidationError():
            errors = list(pointers_in(error.detail))
            return problem(422, "invalid-input", "; ".join(_brief(one) for one in errors[:5]), errors=errors), {}
        case exceptions.APIException():
            return _of_framework(error)
        case _:
            log.exception("request %s failed", request_id_of(context["request"]))
            return problem(500, "failure", "something went wrong on our side; the request id finds it in the log"), {}


def _of_framework(error: exceptions.APIException) -> tuple[dict[str, Any], dict[str, str]]:
    headers = {}
    if getattr(error, "auth_header", None):
        headers["WWW-Authenticate"] = error.auth_header
    if getattr(error, "wait", None):
        headers["Retry-After"] = str(int(error.wait) + 1)
    kinds = {
        400: "unreadable",
        401: "not-signed-in",
        403: "not-allowed",
        404: "not-found",
        405: "method",
        406: "not-acceptable",
    }
    kinds |= {415: "media-type", 429: "too-many-requests"}
    code = error.status_code if error.status_code in kinds else status.HTTP_500_INTERNAL_SERVER_ERROR
    return problem(code, kinds.get(code, "failure"), str(error.detail)), headers


def _sendable(value: Any) -> Any:
    """The same with half character pairs spelled out: texts of the caller's that no encoding takes."""
    match value:
        case str():
            return value.encode(errors="backslashreplace").decode()
        case dict():
            return {_sendable(name): _sendable(inner) for name, inner in value.items()}
        case list():
            return [_sendable(inner) for inner in value]
        case _:
            return value


def faults_with_pointers(faults: Sequence[FieldFault], base: str = "") -> Iterator[dict[str, str]]:
    """Service faults as entries of `errors`."""
    for fault in faults:
        row = "" if fault.row is None else f"/{fault.row}"
        field = f"/{fault.field}" if fault.field else ""
        yield {"pointer": f"{base}{row}{field}", "detail": fault.message}


def pointers_in(detail: Any, pointer: str = "") -> Iterator[dict[str, str]]:
    """The entries of `errors` for DRF's nested validation detail."""
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            yield from pointers_in(inner, pointer if name == "non_field_errors" else f"{pointer}/{escaped(name)}")
    elif isinstance(detail, list | tuple):
        for index, inner in enumerate(detail):
            nested = isinstance(inner, Mapping | list | tuple)
            yield from pointers_in(inner, f"{pointer}/{index}" if nested else pointer)
    else:
        yield {"pointer": pointer, "detail": str(detail)}


def _cell(fault: CellFault) -> dict[str, Any]:
    column = {"column": fault.column} if fault.column else {}
    return {"line": fault.line, **column, "detail": fault.detail}


def escaped(name: Any) -> str:
    """A name as a step of a JSON pointer (RFC 6901, section 3)."""
    return str(name).replace("~", "~0").replace("/", "~1")


def _brief(one: Mapping[str, str]) -> str:
    return f"{one['pointer'] or '/'}: {one['detail']}"
