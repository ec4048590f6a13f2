"""What else goes when a record is deleted: found before, so that the history names every row."""

from dataclasses import dataclass
from typing import cast

from django.db import DEFAULT_DB_ALIAS
from django.db.models import Model, QuerySet, RestrictedError
from django.db.models.deletion import Collector

from showplan.records.base import Record
from showplan.services.errors import StillInUse
from showplan.services.own_keys import users_of


@dataclass(frozen=True)
class Toll:
    """`deleted`: the record and all that hangs on it; `loosened`: records that lose a reference, with its field."""

    deleted: tuple[Record, ...]
    loosened: tuple[tuple[Record, str], ...]


def toll_of_deleting(record: Record) -> Toll:
    """The consequences of deleting `record`. Raises StillInUse where another record needs it."""
    collector = Collector(using=DEFAULT_DB_ALIAS, origin=record)
    try:
        collector.collect([record])
    except RestrictedError as error:
        users = ", ".join(sorted({f"{used._meta.verbose_name} {used}" for used in error.restricted_objects}))
        raise StillInUse(f"{record.noun()} {str(record)!r} is still used by {users}") from error
    if by_key := users_of(record):
        raise StillInUse(f"{record.noun()} {str(record)!r} is still used by {', '.join(by_key)}")
    deleted = {one.pk: one for rows in collector.data.values() for one in rows if isinstance(one, Record)}
    # Rows that are no records (history, jobs) have no history of their own and need not be read.
    of_records = (rows for rows in collector.fast_deletes if issubclass(rows.model, Record))
    deleted.update({one.pk: one for rows in of_records for one in rows})
    loosened = [
        (one, field.name)
        for (field, value), batches in collector.field_updates.items()
        if value is None
        for rows in cast("list[QuerySet[Model]]", batches)
        for one in rows
        if isinstance(one, Record) and one.pk not in deleted
    ]
    return Toll(tuple(deleted.values()), tuple(loosened))
