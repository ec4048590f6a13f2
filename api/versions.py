"""Lost updates: each record's ETag is its version, and each write says which one it saw (RFC 9110, If-Match)."""

import re

from rest_framework.request import Request

from api.problems import Problem

_STRONG = re.compile(r'"(\d{1,9})"')


def etag_of(version: int) -> str:
    """The strong entity tag of a version."""
    return f'"{version}"'


def version_seen(request: Request) -> int | None:
    """The version that the call was based on; None for `If-Match: *`, whichever there is.

    428 without the header. A weak tag never matches (RFC 9110, 13.1.1); it stands here as version 0, which none has.
    """
    header = request.headers.get("If-Match")
    if header is None:
        raise Problem(428, "if-match-required", "send If-Match with the ETag of the version you saw")
    tags = [tag.strip() for tag in header.split(",")]
    if tags == ["*"]:
        return None
    found = [_STRONG.fullmatch(tag) for tag in tags]
    if len(found) > 1:
        raise Problem(400, "bad-if-match", "send one entity tag in If-Match: a record has one version at a time")
    return int(found[0][1]) if found[0] else 0


def not_modified(request: Request, etag: str) -> bool:
    """Whether If-None-Match says that the caller has this version already."""
    tags = [tag.strip().removeprefix("W/") for tag in request.headers.get("If-None-Match", "").split(",")]
    return etag in tags or tags == ["*"]
