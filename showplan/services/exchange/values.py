"""Values of fields as JSON, both ways: writing them plainly, reading them strictly."""

import math
import re
from datetime import UTC, date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models

from showplan.records.base import MetresField

LONGEST_TEXT = 10_000
_DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_DATE_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d{1,6})?)?(Z|[+-]\d\d:\d\d)", re.ASCII)
_ALLOWED_CONTROLS = frozenset("\n\t\r")


class ValueFault(ValueError):
    """A value that the field does not take; the text says what would be right."""


def plain(value: Any) -> Any:
    """A field's value as JSON: times in UTC, numbers without a negative zero."""
    match value:
        case datetime():
            return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
        case date():
            return value.isoformat()
        case float():
            return value + 0.0  # -0.0 + 0.0 is 0.0
        case list():  # corners, or metres
            return [plain([*map(float, one)] if isinstance(one, list) else float(one)) for one in value]
    return value


def read_value(field: "models.Field[Any, Any]", given: Any) -> Any:
    """The field's value from a JSON value: nothing is converted but whole numbers to floats. Raises ValueFault."""
    if given is None:
        if field.null:
            return None
        raise ValueFault("must not be null: leave it out for its default" if field.has_default() else "is missing")
    value = _of_its_type(field, given)
    if field.choices and value not in (known := [key for key, _ in field.flatchoices]) and not _is_left(field, value):
        raise ValueFault(f"must be one of {', '.join(known)}, not {shown(value)}")
    try:
        return field.clean(value, None)
    except ValidationError as error:
        raise ValueFault("; ".join(error.messages)) from error


def shown(value: Any) -> str:
    """A value in an error text, cut to a readable length and free of characters that cannot be sent."""
    if isinstance(value, dict | list):
        return "an object" if isinstance(value, dict) else "a list"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and abs(value) > 10**15:
        return "a number with too many digits"
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."


def _of_its_type(field: "models.Field[Any, Any]", given: Any) -> Any:
    match field:
        case models.FloatField():
            return _number(given)
        case models.IntegerField():
            return _whole_number(given)
        case models.BooleanField():
            return _truth(given)
        case models.DateTimeField():
            return _moment(given)
        case models.DateField():
            return _day(given)
        case MetresField():
            return _metres(given)
        case models.JSONField():
            return _corners(given)
        case models.CharField() | models.TextField():
            return _text(given, max(LONGEST_TEXT, field.max_length or 0))
    raise TypeError(f"no reading for {field}")


def _is_left(field: "models.Field[Any, Any]", value: Any) -> bool:
    """Whether nothing was chosen where that is allowed."""
    return bool(field.blank) and value == ""


def _number(given: Any) -> float:
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise ValueFault(f"must be a number, not {shown(given)}")
    try:
        value = float(given)
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        raise ValueFault("must be a finite number")
    return value + 0.0


def _whole_number(given: Any) -> int:
    if isinstance(given, bool) or not isinstance(given, int):
        raise ValueFault(f"must be a whole number, not {shown(given)}")
    if abs(given) > 2**31:
        raise ValueFault("has too many digits")
    return given


def _truth(given: Any) -> bool:
    if not isinstance(given, bool):
        raise ValueFault(f"must be true or false, not {shown(given)}")
    return given


def _text(given: Any, longest: int) -> str:
    if not isinstance(given, str):
        raise ValueFault(f"must be a text, not {shown(given)}")
    if len(given) > longest:
        raise ValueFault(f"must have at most {longest} characters, not {len(given)}")
    if any((ord(c) < 32 and c not in _ALLOWED_CONTROLS) or "\ud800" <= c <= "\udfff" for c in given):
        raise ValueFault("has a character that no text here may have")
    return given


def _day(given: Any) -> date:
    try:
        if isinstance(given, str) and _DATE.fullmatch(given):
            return date.fromisoformat(given)
    except ValueError:
        pass
    raise ValueFault(f"must be a date such as 2027-05-01, not {shown(given)}")


def _moment(given: Any) -> datetime:
    try:
        if isinstance(given, str) and _DATE_TIME.fullmatch(given):
            return datetime.fromisoformat(given).astimezone(UTC)
    except (ValueError, OverflowError):
        pass
    raise ValueFault(f"must be a time with its offset, such as 2027-05-01T18:30:00Z, not {shown(given)}")


def _corners(given: Any) -> list[list[float]]:
    if not isinstance(given, list) or not all(isinstance(pair, list) and len(pair) == 2 for pair in given):
        raise ValueFault("must be a list of corners, each [x, y] in metres")
    return [[_number(x), _number(y)] for x, y in given]


def _metres(given: Any) -> list[float]:
    if not isinstance(given, list):
        raise ValueFault(f"must be a list of metres, not {shown(given)}")
    return [_number(one) for one in given]
