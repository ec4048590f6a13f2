"""Keyset pages: each page starts after the last record of the one before, however much changes in between."""

import base64
import json
from collections.abc import Mapping
from datetime import UTC, datetime
from reprlib import repr as brief
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Q, QuerySet
from rest_framework.request import Request

from api.problems import bad_parameter

DEFAULT_LIMIT = 100
MOST = 1000


def page_of(request: Request, records: QuerySet[Any], names: tuple[str, ...], sort: str) -> dict[str, Any]:
    """{"items": [...], "next": address or null}; the order is `sort`, then `id`; query parameters limit and after."""
    limit = _limit(request.query_params.get("limit"))
    ordered = records.order_by(sort, "id")
    after = request.query_params.get("after")
    if after is not None:
        ordered = ordered.filter(_beyond(ordered, sort, after))
    found = list(ordered.values(*{**dict.fromkeys(names), sort: None})[: limit + 1])
    items, more = found[:limit], len(found) > limit
    following = _address(request, _cursor(items[-1], sort)) if more else None
    if sort not in names:
        for item in items:
            del item[sort]
    return {"items": items, "next": following}


def _limit(text: str | None) -> int:
    if text is None:
        return DEFAULT_LIMIT
    if not text.isascii() or not text.isdigit() or not 1 <= int(text[:9]) <= MOST:
        raise bad_parameter("limit", f"must be a whole number from 1 to {MOST}, not {brief(text)}")
    return int(text)


def _cursor(item: Mapping[str, Any], sort: str) -> str:
    key = json.dumps([str(item[sort]), str(item["id"])])
    return base64.urlsafe_b64encode(key.encode()).decode().rstrip("=")


def _beyond(records: QuerySet[Any], sort: str, cursor: str) -> Q:
    try:
        words = json.loads(base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)))
        value, key = (_python_value(records, name, text) for name, text in zip((sort, "id"), words, strict=True))
    except (ValueError, TypeError, OverflowError, RecursionError, ValidationError):
        raise bad_parameter("after", "is not a place in this list: take it from the `next` of a page") from None
    return Q(**{f"{sort}__gt": value}) | Q(**{sort: value, "id__gt": key})


def _python_value(records: QuerySet[Any], name: str, text: Any) -> Any:
    """The value of a column that a cursor holds as text; raises where no database takes it."""
    if not isinstance(text, str) or "\x00" in text:
        raise ValueError
    text.encode()  # half a character pair cannot be
    value = records.model._meta.get_field(name).to_python(text)
    if isinstance(value, datetime):
        if value.tzinfo is None:
            raise ValueError
        return value.astimezone(UTC)  # raises past the ends of the calendar
    return value


def _address(request: Request, cursor: str) -> str:
    query = request.query_params.copy()
    query["after"] = cursor
    return request.build_absolute_uri(f"{request.path}?{query.urlencode()}")
