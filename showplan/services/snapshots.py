"""A record's fields as plain JSON values, for the history."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from showplan.records.base import Record

# Identifiers and counters are not edited; a secret, even hashed, has no place in a history that members read.
_BOOKKEEPING = {"id", "version", "revision", "created_at", "changed_at", "secret_hash"}
_encode = DjangoJSONEncoder().default


def edited_fields(model: type[Record]) -> "list[models.Field[Any, Any]]":
    """The fields that people set, in the order of declaration."""
    return [field for field in model._meta.concrete_fields if field.name not in _BOOKKEEPING]


def snapshot(record: Record) -> dict[str, Any]:
    """{attribute name: JSON value}; a reference to another record stands as its identifier under `<field>_id`."""
    return {field.attname: _plain(field.value_from_object(record)) for field in edited_fields(type(record))}


def differences(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """The entries that differ, as (before, after)."""
    names = [name for name in after if before.get(name) != after[name]]
    return {name: before.get(name) for name in names}, {name: after[name] for name in names}


def _plain(value: Any) -> Any:
    if value is None or isinstance(value, bool | int | float | str | list | dict):
        return value
    if isinstance(value, models.fields.files.FieldFile):
        return value.name or ""
    if isinstance(value, datetime):
        return value.isoformat()  # Django's own encoder drops microseconds, and undo must bring back the same value
    return _encode(value)


def restored(model: type[Record], key: Any, values: Mapping[str, Any]) -> Record:
    """The record that a snapshot shows, not yet written, with its old identifier."""
    fields = {field.attname: field for field in edited_fields(model)}
    given = {name: fields[name].to_python(value) for name, value in values.items() if name in fields}
    return model(id=key, **given)
