"""Own demands of nodes and zones in the form of the relay planner: a row each, which needs no script to come or go."""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.http import QueryDict

from frontend.editing.fields import NumberField
from showplan.services.errors import FieldFault

TITLE = "Demands of single nodes or zones"
NAMES_LIST = "demand_names"  # the element that holds the names to choose from
PARTS = ("name", "least_delivery", "extra_margin_db")
ROW = re.compile(r"demand_name_([0-9]{1,4})", re.ASCII)
ANOTHER, TAKE_OFF = "another_demand", "take_off_demand"


def rows_sent(data: Mapping[str, Any]) -> list[int]:
    """The numbers of the rows that a browser sent, in order."""
    return sorted(int(found[1]) for name in data if (found := ROW.fullmatch(name)))


def redrawn(data: QueryDict) -> QueryDict | None:
    """What was typed with one row more, or one less, where a button asked for that; None where none did."""
    if ANOTHER not in data and TAKE_OFF not in data:
        return None
    changed = data.copy()
    rows = rows_sent(data)
    if ANOTHER in data:
        changed[field_name("name", max(rows, default=-1) + 1)] = ""
    else:
        for part in PARTS:
            changed.pop(f"demand_{part}_{data[TAKE_OFF]}", None)
    return changed


def field_name(part: str, row: int) -> str:
    """The name of one field of a row."""
    return f"demand_{part}_{row}"


def row_fields(row: int, asked: Mapping[str, Any], *, is_new: bool) -> dict[str, forms.Field]:
    """The fields of one row, begun with an earlier demand; a new row takes the keyboard."""
    focus = {"autofocus": True} if is_new else {}
    name = forms.CharField(
        label="Node or zone",
        required=False,
        initial=asked.get("name"),
        widget=forms.TextInput(attrs={"list": NAMES_LIST, "autocomplete": "off", **focus}),
    )
    least = NumberField(
        label="Least delivery of every hop",
        required=False,
        initial=asked.get("least_delivery"),
        help_text="Above 0, below 1, such as 0.95.",
    )
    margin = NumberField(
        label="Margin beyond the fade margin (dB)",
        required=False,
        initial=asked.get("extra_margin_db"),
        help_text="0 to 40; empty: 0.",
    )
    return {field_name(part, row): field for part, field in zip(PARTS, (name, least, margin), strict=True)}


def filled_in(values: Mapping[str, Any], rows: Iterable[int]) -> list[tuple[int, dict[str, Any]]]:
    """Each row in which something stands, with its demand as the services take it."""
    found = []
    for row in rows:
        given = {part: values.get(field_name(part, row)) for part in PARTS}
        demand = {part: value for part, value in given.items() if value not in (None, "")}
        if demand:
            found.append((row, demand))
    return found


def beside(fault: FieldFault, rows: list[int]) -> FieldFault:
    """A fault of `demands/0/name` at the field of the row that was the first to be asked for."""
    _, *rest = fault.field.split("/")
    if not rest or int(rest[0]) >= len(rows):
        return FieldFault("", fault.message)
    part = rest[1] if len(rest) > 1 and rest[1] in PARTS else "name"
    return FieldFault(field_name(part, rows[int(rest[0])]), fault.message)
