"""How each operation may refuse, for the API's description: one shared response for each status."""

from typing import Any

from api.operations import Operation
from api.problems import MEDIA_TYPE, TITLES

# Every call may be refused for a wrong parameter or header, its caller, its Accept header or its size.
ALWAYS = (400, 401, 403, 406, 413, 500)
WITH_BODY = (415, 422)
WITH_IF_MATCH = (412, 428)
WITH_IDEMPOTENCY_KEY = (409, 422)
HEADERS = {
    401: {"WWW-Authenticate": "what to send instead"},
    409: {"Retry-After": "seconds, where the same call is still under way"},
    429: {"Retry-After": "seconds"},
}


def refusals_of(operation: Operation, path: str) -> set[int]:
    """The statuses of an operation besides success."""
    found = {*ALWAYS, *operation.also}
    if "{" in path:
        found.add(404)
    if operation.request is not None:
        found.update(WITH_BODY)
    if operation.guarded:
        found.update(WITH_IF_MATCH)
    if operation.repeatable:
        found.update(WITH_IDEMPOTENCY_KEY)
    return found


def reference_to(status: int) -> dict[str, str]:
    """The reference to the shared response of a status."""
    return {"$ref": f"#/components/responses/Problem{status}"}


def shared_responses() -> dict[str, Any]:
    """`components.responses`: a problem document for each status."""
    return {f"Problem{status}": _response(status) for status in TITLES if status != 405}


def _response(status: int) -> dict[str, Any]:
    headers = {name: text_header(text) for name, text in HEADERS.get(status, {}).items()}
    content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    return {"description": TITLES[status], **({"headers": headers} if headers else {}), "content": content}


def text_header(description: str) -> dict[str, Any]:
    """A header of an answer."""
    return {"schema": {"type": "string"}, "description": description}
