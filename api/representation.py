"""Records as JSON values, straight from the database's columns: no model instances for a list."""

from collections.abc import Iterable, Mapping, Sequence
from reprlib import repr as brief
from typing import Any

from django.db.models import QuerySet

from api.problems import bad_parameter
from api.serializers import BOOKKEEPING
from showplan.records.base import Record
from showplan.services.nouns import Noun

Values = Mapping[str, Any]


def names_of(noun: Noun) -> tuple[str, ...]:
    """The members of a record's JSON object, in order."""
    own = tuple(field.name for field in noun.fields)
    return ("id", "version", *own, *BOOKKEEPING[2:])


def chosen_names(noun: Noun, fields: str | None) -> tuple[str, ...]:
    """The members that `?fields=a,b` asks for; all without it. `id` and `version` are always there."""
    known = names_of(noun)
    if fields is None:
        return known
    asked = [name for name in fields.split(",") if name]
    for name in asked:
        if name not in known:
            raise bad_parameter("fields", f"{brief(name)} is no field of a {noun.singular}; known: {', '.join(known)}")
    return tuple(name for name in known if name in ("id", "version") or name in asked)


def rows(records: QuerySet[Any], names: Sequence[str]) -> list[Values]:
    """JSON-ready values of each record; a reference is the identifier of the record it points to."""
    return list(records.values(*names))


def as_values(record: Record, names: Iterable[str]) -> dict[str, Any]:
    """The same for one record in memory."""
    columns = {field.name: field.attname for field in record._meta.concrete_fields}
    return {name: getattr(record, columns[name]) for name in names}
