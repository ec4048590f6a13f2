"""Keys that a project adds to those of a reference table: its own PHYs, which networks and node types name.

They name them by a text, as they name a row of the table, so no foreign key holds the two together; these checks do.
Edits of one project follow each other (`services.editing`), so nothing changes between a check and its write.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from showplan.records.base import Record
from showplan.records.references import ReferenceKey
from showplan.services.errors import FieldFault


def unknown_key_faults(records: Sequence[Record], beside: Sequence[Record] = ()) -> Iterator[FieldFault]:
    """Keys of `records` (all of one class) that neither the table nor the project has; one query for each such field.

    `beside` may hold records that would be written with these but are not in the database.
    """
    for field in _fields_of(type(records[0])):
        table = field.keys()
        rows = [row for row, record in enumerate(records) if _key(record, field) not in ("", *table)]
        if not rows:
            continue
        own = _own_keys(field, {records[row].project_id for row in rows})  # type: ignore[attr-defined]
        new = [str(one) for one in beside if isinstance(one, field.own_model())]
        for row in rows:
            known = [*table, *own[records[row].project_id], *new]  # type: ignore[attr-defined]
            if _key(records[row], field) not in known:
                yield FieldFault(field.name, field.unknown(_key(records[row], field), known), row)


def renaming_faults(records: Sequence[Record], befores: Sequence[Mapping[str, Any]]) -> Iterator[FieldFault]:
    """Records (all of one class) whose key others name and that would lose it; `befores` are their old values."""
    users = _users(type(records[0]))
    key = records[0].natural_key
    for row, (record, before) in enumerate(zip(records, befores, strict=True)):
        if not users or getattr(record, key) == before[key]:
            continue
        found = _names_of_users(users, record, before[key])
        if found:
            message = f"{before[key]!r} is still used by {', '.join(found)}: let them use another first"
            yield FieldFault(key, message, row)


def users_of(record: Record) -> list[str]:
    """The records that name this one by its key, in words; empty where none does."""
    users = _users(type(record))
    return _names_of_users(users, record, getattr(record, record.natural_key)) if users else []


def _fields_of(model: type[Record]) -> list[ReferenceKey]:
    return [field for field in model._meta.concrete_fields if isinstance(field, ReferenceKey) and field.own]


def _users(model: type[Record]) -> list[ReferenceKey]:
    """The fields, of any class, that may hold a key of `model`."""
    models = Record.__subclasses__()
    return [field for user in models for field in _fields_of(user) if field.own_model() is model]


def _names_of_users(users: Sequence[ReferenceKey], record: Record, key: str) -> list[str]:
    project = record.project_id  # type: ignore[attr-defined]
    return sorted(
        f"{user.noun()} {user}"
        for field in users
        for user in field.model._default_manager.filter(project=project, **{field.name: key})
        if isinstance(user, Record)
    )


def _own_keys(field: ReferenceKey, projects: set[Any]) -> Mapping[Any, list[str]]:
    model = field.own_model()
    found: dict[Any, list[str]] = defaultdict(list)
    for project, key in model._default_manager.filter(project__in=projects).values_list("project", model.natural_key):
        found[project].append(key)
    return found


def _key(record: Record, field: ReferenceKey) -> str:
    return str(getattr(record, field.name) or "")
