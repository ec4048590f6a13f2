"""Creating, changing and deleting records of any noun for a caller: what pages, API and imports call.

Values are Python objects by field name; references are loaded records. Every function checks the caller's rights,
writes one revision, and raises the errors of `services.errors`.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any
from uuid import UUID

from showplan.records.base import Record
from showplan.records.models import Project, Venue
from showplan.services.editing import edit
from showplan.services.errors import FieldFault, InvalidInput, NotFound
from showplan.services.nouns import Noun
from showplan.services.rights import Caller, refuse_unless_editor

Parent = Project | Venue
Values = Mapping[str, Any]


@dataclass(frozen=True)
class Update:
    """New values for one record; `based_on` is the version the writer saw, None for whichever there is."""

    record_id: UUID
    values: Values
    based_on: int | None = None


@dataclass
class Written:
    """What a bulk write did, in the order of its rows."""

    created: list[Record] = field(default_factory=list)
    updated: list[Record] = field(default_factory=list)


def project_of(parent: Parent) -> Project:
    """The project of a parent."""
    return parent.project if isinstance(parent, Venue) else parent


def get_record(noun: Noun, parent: Parent, record_id: UUID) -> Record:
    """One record with its references loaded. Raises NotFound."""
    return get_records(noun, parent, [record_id])[0]


def get_records(noun: Noun, parent: Parent, record_ids: Sequence[UUID]) -> list[Record]:
    """Records in the order asked for, in one query. Raises NotFound, which names the first that is missing."""
    found = {record.pk: record for record in noun.loaded(parent).filter(pk__in=record_ids)}
    missing = [key for key in record_ids if key not in found]
    if missing:
        raise NotFound(f"there is no {noun.singular} {missing[0]}")
    for record in found.values():
        noun.adopt(record, parent)
    return [found[key] for key in record_ids]


def create_record(caller: Caller, noun: Noun, parent: Parent, values: Values) -> Record:
    """One new record."""
    with _without_rows():
        return write_records(caller, noun, parent, create=[values]).created[0]


def update_record(caller: Caller, noun: Noun, parent: Parent, update: Update) -> Record:
    """One record changed."""
    with _without_rows():
        return write_records(caller, noun, parent, update=[update]).updated[0]


def write_records(
    caller: Caller, noun: Noun, parent: Parent, *, create: Iterable[Values] = (), update: Sequence[Update] = ()
) -> Written:
    """New and changed records of one noun in one revision; all or none."""
    project = project_of(parent)
    refuse_unless_editor(caller, project)
    _refuse_repeats(update)
    written, faults = Written(), list[FieldFault]()
    with edit(project, caller.actor()) as change:
        with _part("create", faults):
            written.created = list(change.create([_new(noun, parent, values) for values in create]))
        with _part("update", faults):
            found = get_records(noun, parent, [one.record_id for one in update]) if update else []
            rows = [(record, one.values, one.based_on) for record, one in zip(found, update, strict=True)]
            written.updated = change.update_many(rows)
        if faults:
            raise InvalidInput(faults)
    return written


def delete_record(caller: Caller, noun: Noun, parent: Parent, record_id: UUID, based_on: int | None) -> None:
    """Delete one record and what hangs on it."""
    project = project_of(parent)
    refuse_unless_editor(caller, project)
    with edit(project, caller.actor()) as change:
        change.delete(get_record(noun, parent, record_id), based_on=based_on)


def _new(noun: Noun, parent: Parent, values: Values) -> Record:
    if noun.way_up != noun.parent and values.get("level") is None:
        raise InvalidInput([FieldFault("level", "is missing")])
    record = noun.model(**values)
    noun.adopt(record, parent)
    return record


def _refuse_repeats(update: Sequence[Update]) -> None:
    first_row: dict[UUID, int] = {}
    faults = [
        FieldFault("id", "this record is already changed by an earlier row", row, "update")
        for row, one in enumerate(update)
        if first_row.setdefault(one.record_id, row) != row
    ]
    if faults:
        raise InvalidInput(faults)


@contextmanager
def _part(name: str, faults: list[FieldFault]) -> Iterator[None]:
    """Faults raised inside are collected as of this part of the call; they have a row even where there is only one."""
    try:
        yield
    except InvalidInput as error:
        faults += (replace(fault, row=fault.row or 0, part=name) for fault in error.faults)


@contextmanager
def _without_rows() -> Iterator[None]:
    """Faults raised inside are of one record: there are no rows to count."""
    try:
        yield
    except InvalidInput as error:
        raise InvalidInput(replace(fault, row=None, part="") for fault in error.faults) from error
