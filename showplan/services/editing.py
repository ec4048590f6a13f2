"""The one way to change records: an Edit.

    with edit(project, actor) as change:
        change.create([node_a, node_b])
        change.update(wall, {"height_m": 3.0}, based_on=4)

An edit is one transaction and one step of the project's revision; every record it touches gets a history row with
the fields that differ. It locks the project's row first, so edits of one project follow each other. Validation
costs a number of queries that does not depend on the number of rows.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Case, F, IntegerField, When
from django.utils import timezone

from showplan.records.base import Record, owner_of
from showplan.records.models import Change, Membership, Project, User, Venue
from showplan.services import validation
from showplan.services.deletion import Toll, toll_of_deleting
from showplan.services.errors import InvalidInput, NotFound, StaleWrite
from showplan.services.integrity import fault_of
from showplan.services.own_keys import renaming_faults
from showplan.services.snapshots import differences, edited_fields, snapshot


@dataclass(frozen=True)
class Actor:
    """Who changes something, and through which door: 'page', 'command' or the name of a token."""

    user: User | None
    via: str

    @property
    def name(self) -> str:
        """The name that stays in the history."""
        return self.user.get_username() if self.user else "the command line"


def _refuse_other_version(record: Record, based_on: int | None) -> None:
    if based_on is not None and based_on != record.version:
        raise StaleWrite(record.noun(), str(record), based_on, record.version)


def _refuse_renaming(records: Sequence[Record], befores: Sequence[Mapping[str, Any]]) -> None:
    faults = list(renaming_faults(records, befores))
    if faults:
        single = len(records) == 1
        raise InvalidInput([replace(fault, row=None) for fault in faults] if single else faults)


class Edit:
    """One transaction's changes to one project. Made by `edit`, not directly."""

    def __init__(self, project: Project, actor: Actor) -> None:
        self.project, self.actor = project, actor
        self._changes: list[Change] = []
        self._venues: dict[Any, Venue] = {}

    def create(self, records: Sequence[Record]) -> Sequence[Record]:
        """Write new records of one class. Raises InvalidInput with every fault; then none is written."""
        if not records:
            return records
        self._own(records)
        validation.refuse_invalid(records)
        try:
            with transaction.atomic():
                type(records[0])._default_manager.bulk_create(records)
        except IntegrityError as error:
            raise InvalidInput([fault_of(error, type(records[0]))]) from error
        for record in records:
            self._note(Change.Action.CREATED, record, before={}, after=snapshot(record))
        return records

    def update(self, record: Record, values: Mapping[str, Any], *, based_on: int | None = None) -> Record:
        """Set fields of a record. `based_on` is the version the writer saw; raises StaleWrite, InvalidInput."""
        return self.update_many([(record, values, based_on)])[0]

    def update_many(self, rows: Sequence[tuple[Record, Mapping[str, Any], int | None]]) -> list[Record]:
        """Set fields of several records of one class, each with its own values; all or none."""
        if not rows:
            return []
        records = [record for record, _, _ in rows]
        self._own(records)
        befores = [snapshot(record) for record in records]
        for record, values, based_on in rows:
            _refuse_other_version(record, based_on)
            for name, value in values.items():
                setattr(record, name, value)
        self._own(records)  # a new level or venue must be of this project as well
        validation.refuse_invalid(records)
        _refuse_renaming(records, befores)
        self._save(list(zip(records, befores, strict=True)))
        return records

    def delete(self, record: Record, *, based_on: int | None = None) -> None:
        """Delete a record and what hangs on it. Raises StaleWrite, or StillInUse where others need it."""
        self._own([record])
        _refuse_other_version(record, based_on)
        toll = toll_of_deleting(record)
        for lost in toll.deleted:
            self._note(Change.Action.DELETED, lost, before=snapshot(lost), after={})
        self._loosen(toll)
        deleted, _ = type(record)._default_manager.filter(pk=record.pk, version=record.version).delete()
        if not deleted:
            self._refuse_stale([record])

    def _loosen(self, toll: Toll) -> None:
        """Write the lost references as updates of their own, class by class, so that each is in the history."""
        by_class: dict[type[Record], list[tuple[Record, dict[str, Any]]]] = {}
        for record, field_name in toll.loosened:
            before = snapshot(record)
            setattr(record, field_name, None)
            by_class.setdefault(type(record), []).append((record, before))
        for rows in by_class.values():
            self._save(rows)

    def _save(self, rows: Sequence[tuple[Record, dict[str, Any]]]) -> None:
        """Compare-and-set in one statement: written only where each row still has the version that was read.

        Rows that do not differ from `before` are left alone: no new version, no history row.
        """
        changes = [(record, *differences(before, snapshot(record))) for record, before in rows]
        changes = [row for row in changes if row[2]]
        if not changes:
            return
        records = [record for record, _, _ in changes]
        model = type(records[0])
        names = {field.attname: field.name for field in edited_fields(model)}
        touched = sorted({names[attribute] for _, _, after in changes for attribute in after})
        as_read = Case(*(When(pk=record.pk, then=record.version) for record in records), output_field=IntegerField())
        now = timezone.now()
        for record in records:
            record.version += 1
            record.changed_at = now
        rows_as_read = model._default_manager.filter(version=as_read)
        try:
            with transaction.atomic():
                written = rows_as_read.bulk_update(records, [*touched, "version", "changed_at"])
        except IntegrityError as error:
            raise InvalidInput([fault_of(error, model)]) from error
        if written != len(records):
            self._refuse_stale(records, since=1)
        for record, before, after in changes:
            self._note(Change.Action.UPDATED, record, before, after)

    def _refuse_stale(self, records: Sequence[Record], since: int = 0) -> None:
        """Raise for the first record whose row is gone or has another version than the one read (`since` ago)."""
        rows = type(records[0])._default_manager.filter(pk__in=[record.pk for record in records])
        versions = dict(rows.values_list("pk", "version"))
        for record in records:
            read = record.version - since
            if record.pk not in versions:
                raise NotFound(f"{record.noun()} {str(record)!r} was deleted meanwhile")
            if versions[record.pk] != read:
                raise StaleWrite(record.noun(), str(record), read, versions[record.pk])

    def _own(self, records: Sequence[Record]) -> None:
        for record in records:
            owner = owner_of(record, "project")
            if owner is None or owner.pk != self.project.pk:
                raise NotFound(f"{record.noun()} {str(record)!r} is not part of project {self.project.name!r}")

    def _note(self, action: str, record: Record, before: dict[str, Any], after: dict[str, Any]) -> None:
        venue = owner_of(record, "venue")
        if venue is not None:
            self._venues[venue.pk] = venue
        self._changes.append(
            Change(
                project=self.project,
                venue_id=venue.pk if venue is not None else None,
                venue_name=venue.name if venue is not None else "",
                record_kind=type(record).__name__,
                record_id=record.pk,
                record_name=str(record)[:200],
                action=action,
                actor=self.actor.user,
                actor_name=self.actor.name,
                via=self.actor.via,
                before=before,
                after=after,
            )
        )

    def close(self) -> None:
        """Grow the revisions and write the history rows; called by `edit` inside the transaction."""
        if not self._changes:
            return
        now = timezone.now()
        self.project.revision += 1
        type(self.project)._default_manager.filter(pk=self.project.pk).update(revision=self.project.revision)
        venues = _grow(self._venues)
        for change in self._changes:
            change.revision = self.project.revision
            change.venue_revision = venues.get(change.venue_id)
            change.at = now
            if change.venue_id not in venues:
                change.venue = None
        Change.objects.bulk_create(self._changes)


def _grow(venues: Mapping[Any, Venue]) -> dict[Any, int]:
    """One more revision for each venue; the new numbers by key. Deleted ones drop out."""
    Venue.objects.filter(pk__in=venues).update(revision=F("revision") + 1)
    grown = dict(Venue.objects.filter(pk__in=venues).values_list("pk", "revision"))
    for key, revision in grown.items():
        venues[key].revision = revision
    return grown


@contextmanager
def edit(project: Project, actor: Actor) -> Iterator[Edit]:
    """One transaction of changes to `project` by `actor`; an exception inside undoes all of it."""
    with transaction.atomic():
        locked = Project.objects.select_for_update().filter(pk=project.pk).first()
        if locked is None:
            raise NotFound(f"project {project.name!r} was deleted meanwhile")
        project.revision = locked.revision
        change = Edit(project, actor)
        yield change
        change.close()


def create_project(*, name: str, owner: User, actor: Actor, note: str = "", key: UUID | None = None) -> Project:
    """A new project with its first owner; `key` is its identifier where it must be a given one. Raises InvalidInput."""
    project = Project(name=name, note=note, **({"id": key} if key else {}))
    validation.refuse_invalid([project])
    with transaction.atomic():
        project.save(force_insert=True)
        with edit(project, actor) as change:
            change.create([Membership(project=project, user=owner, role=Membership.Role.OWNER)])
    return project
