"""Cells of a CSV table, both ways.

A spreadsheet takes a text that begins with = + - or @ for a formula and may run it, so such texts are written
with an apostrophe in front; reading takes it away again, and a text that began with one gets a second.
"""

import re
from datetime import date
from typing import Any

from django.db import models

from showplan.records.base import MetresField
from showplan.services.exchange.values import ValueFault, plain, read_value, shown

_LOOKS_LIKE_FORMULA = re.compile(r"'*[=+\-@\t\r]")
_NUMBER = re.compile(r"[+-]?(\d{1,20}(\.\d{0,20})?|\.\d{1,20})([eE][+-]?\d{1,3})?", re.ASCII)
_DECIMAL_COMMA = re.compile(r"[+-]?\d*,\d+", re.ASCII)
_WHOLE = re.compile(r"[+-]?\d{1,12}", re.ASCII)
_TRUTH = {"true": True, "false": False}


def written(value: Any) -> str:
    """A field's value as a cell; nothing is an empty cell."""
    match value:
        case None:
            return ""
        case bool():
            return "true" if value else "false"
        case str():
            return f"'{value}" if _LOOKS_LIKE_FORMULA.match(value) else value
        case list():  # metres
            return " ".join(str(one) for one in plain(value))
        case int() | float() | date():
            return str(plain(value))
    raise TypeError(f"no cell for {value!r}")


def as_text(cell: str) -> str:
    """The text in a cell, without the apostrophe that keeps it from being a formula."""
    return cell[1:] if cell.startswith("'") and _LOOKS_LIKE_FORMULA.match(cell) else cell


def read_cell(field: "models.Field[Any, Any]", cell: str) -> Any:
    """The field's value; an empty cell is no value, an empty text or the default. Raises ValueFault."""
    if cell == "":
        return _emptied(field)
    return read_value(field, _as_json(field, cell))


def _emptied(field: "models.Field[Any, Any]") -> Any:
    if field.null:
        return None
    if field.has_default():
        return field.get_default()
    if field.blank:
        return ""
    raise ValueFault("must not be empty")


def _as_json(field: "models.Field[Any, Any]", cell: str) -> Any:
    match field:
        case models.FloatField():
            return _number(cell.strip())
        case models.IntegerField():
            if not _WHOLE.fullmatch(cell.strip()):
                raise ValueFault(f"must be a whole number, not {shown(cell)}")
            return int(cell)
        case models.BooleanField():
            if cell.strip().lower() not in _TRUTH:
                raise ValueFault(f"must be true or false, not {shown(cell)}")
            return _TRUTH[cell.strip().lower()]
        case MetresField():
            return [_number(one) for one in cell.split()]
    return as_text(cell)


def _number(cell: str) -> float:
    if _DECIMAL_COMMA.fullmatch(cell):
        raise ValueFault(f"write {cell.replace(',', '.')} with a decimal point, not {cell}")
    if not _NUMBER.fullmatch(cell):
        raise ValueFault(f"must be a number, not {shown(cell)}")
    return float(cell)
