"""A list of records: columns, filters, one page at a time."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q, QuerySet
from django.http import QueryDict

from frontend.editing.fields import filter_field
from frontend.editing.places import Place
from frontend.editing.wording import label_of, title_of, value_in_words
from frontend.present.words import counted
from showplan.records.base import Record
from showplan.services.nouns import Noun

ROWS = 50
MOST_COLUMNS = 6
COLUMNS = {
    "venues": ("city", "region", "environment"),
    "node-types": ("phy", "transmit_power_dbm", "sensitivity_dbm", "outputs"),
    "networks": ("phy", "radio_channel", "pan_id"),
    "own-phys": ("band_low_mhz", "band_high_mhz", "bandwidth_mhz", "bit_rate_kbps", "sensitivity_dbm"),
    "timelines": (),
    "traffic-settings": ("refresh_hz", "coding", "addressing", "acknowledged", "relaying", "jitter_ms"),
    "feeds": ("kind", "slots", "rate_hz", "baud", "escaping", "buffer_octets"),
    "supplies": ("kind", "chemistry", "nominal_v", "capacity_ah", "packs"),
    "nodes": ("role", "node_type", "network", "short_address", "supply", "crew"),
    "loads": ("kind", "node", "output", "rated_v", "rated_w", "cable_area_mm2", "fuse_a"),
    "show-parts": ("position", "kind", "minutes", "level", "may_change_packs", "timeline"),
    "part-levels": ("part", "level"),
    "levels": ("elevation_m", "clear_height_m", "width_m", "depth_m"),
    "walls": ("level", "material", "height_m", "start_x_m", "start_y_m", "end_x_m", "end_y_m"),
    "crowd-areas": ("level", "height_m", "loss_db_per_m", "most_db"),
    "channel-choices": ("radio_channel",),
    "calibrations": ("network", "path_loss_exponent", "spots", "rms_before_db", "rms_after_db", "is_applied"),
    "candidate-sites": ("level", "x_m", "y_m", "height_m", "has_mains", "cost", "relay_use"),
    "placements": ("level", "zone", "x_m", "y_m", "height_m"),
    "tour-dates": ("kind", "note"),
    "readings": ("level", "transmitter", "receiver_type", "received_dbm", "packet_error", "taken_by"),
}


class FilterForm(forms.Form):
    """Narrows a list by the noun's own filters."""

    def __init__(self, place: Place, data: Any) -> None:
        super().__init__(data, label_suffix="", auto_id="filter_%s")
        by_name = {field.name: field for field in place.noun.fields}
        for name in place.noun.filters:
            if name in by_name:
                self.fields[name] = filter_field(by_name[name], place.noun, place.owner_of)

    def narrowed(self, records: QuerySet[Record]) -> QuerySet[Record]:
        """The records that match; what cannot be read narrows nothing, and its field says so."""
        self.is_valid()
        for name, value in self.cleaned_data.items():
            if value not in (None, ""):
                is_text = type(self.fields[name]) is forms.CharField
                records = records.filter(**{f"{name}__icontains" if is_text else name: value})
        return records


def list_page(place: Place, query: QueryDict) -> dict[str, Any]:
    """The context of a list; the same number of queries however many records there are."""
    form = FilterForm(place, query)
    found = form.narrowed(place.noun.loaded(place.parent)).order_by(place.noun.sort, "id")
    records = list(_beyond(found, place.noun.sort, query)[: ROWS + 1])
    rows, more = records[:ROWS], len(records) > ROWS
    return {
        **place.context(),
        "place_new": place.address("new"),
        "empty_words": f"No {place.noun.singular} yet.",
        "columns": [label_of(field) for field in columns_of(place.noun)],
        "rows": [row_of(place, record) for record in rows],
        "filters": form if form.fields else None,
        "is_narrowed": any(query.get(name) for name in form.fields),
        "is_continued": "after" in query,
        "more_address": _next_address(place, query, rows[-1]) if more else "",
        "column_count": len(columns_of(place.noun)) + 2,
    }


def row_of(place: Place, record: Record) -> dict[str, Any]:
    """One record as a row of the list."""
    return {
        "record": record,
        "title": title_of(record) if place.noun.sort != "date" else _cell(record, "date", place.noun),
        "cells": [
            {"label": label_of(field), "words": _cell(record, field.name, place.noun)}
            for field in columns_of(place.noun)
        ],
        "edit": place.address("edit", record.pk),
        "delete": place.address("delete", record.pk),
        "history": place.address("history", record.pk),
    }


def columns_of(noun: Noun) -> "list[models.Field[Any, Any]]":
    """The fields a list shows beside the record's name."""
    by_name = {field.name: field for field in noun.fields}
    asked = COLUMNS.get(noun.path)
    if asked is not None:
        return [by_name[name] for name in asked if name in by_name]
    own = {noun.model.natural_key, "note"}
    return [field for field in noun.fields if field.name not in own][:MOST_COLUMNS]


def heading_of(noun: Noun) -> str:
    """What stands over the column with the records' names."""
    by_path = {
        "placements": "Node",
        "channel-choices": "Network",
        "traffic-settings": "Network",
        "feeds": "Network",
        "part-levels": "Load",
        "own-phys": "Key",
    }
    return {"date": "Date", "taken_at": "Taken at"}.get(noun.sort, by_path.get(noun.path, "Name"))


def count_in_words(count: int, noun: Noun) -> str:
    """'2 walls'."""
    return counted(count, noun.singular, noun.plural)


def _cell(record: Record, name: str, noun: Noun) -> str:
    field = next(field for field in noun.fields if field.name == name)
    value = field.value_from_object(record)
    names: Mapping[str, str] = {}
    if isinstance(field, models.ForeignKey) and value is not None:
        names = {str(value): str(getattr(record, name))}
    return value_in_words(field, value, names)


def _beyond(records: QuerySet[Record], sort: str, query: QueryDict) -> QuerySet[Record]:
    """The records after the one named by `after` (its sorting value) and `after_id`; all where those make no sense."""
    try:
        value = records.model._meta.get_field(sort).to_python(query["after"].replace("\0", ""))
        key = UUID(query["after_id"])
    except (KeyError, ValueError, ValidationError):
        return records
    return records.filter(Q(**{f"{sort}__gt": value}) | Q(**{sort: value, "id__gt": key}))


def _next_address(place: Place, query: QueryDict, last: Record) -> str:
    following = query.copy()
    following["after"] = str(getattr(last, place.noun.sort))
    following["after_id"] = str(last.pk)
    return f"{place.address()}?{following.urlencode()}"
