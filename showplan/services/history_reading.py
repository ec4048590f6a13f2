"""Reading the history for people: by revision, by record, and what a record was at an earlier version."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Count, F, QuerySet, Window
from django.db.models.functions import RowNumber

from showplan.records.base import Record
from showplan.records.models import Change, Project, User, Venue
from showplan.services.errors import NotFound
from showplan.services.history import MODELS
from showplan.services.snapshots import snapshot

REVISIONS = 20
MOST_SHOWN = 12
MOST_CHANGES = 50


@dataclass(frozen=True)
class Revision:
    """One step of a project: who, when, through which door, and its first changes of `count`."""

    number: int
    at: datetime
    actor_name: str
    via: str
    count: int
    changes: tuple[Change, ...]


def revisions_of(project: Project, *, below: int | None = None, venue: Venue | None = None) -> list[Revision]:
    """Up to REVISIONS revisions, newest first, each with up to MOST_SHOWN changes; two queries."""
    changes = Change.objects.filter(project=project)
    if venue is not None:
        changes = changes.filter(venue=venue)
    counts = changes.filter(revision__lt=below) if below is not None else changes
    found = counts.order_by("-revision").values_list("revision").annotate(Count("id"))[:REVISIONS]
    return _with_changes(changes, dict(found))


def one_revision(project: Project, number: int) -> Revision:
    """One revision. Raises NotFound."""
    changes = Change.objects.filter(project=project)
    count = changes.filter(revision=number).count()
    if not count:
        raise NotFound(f"there is no revision {number} in {project.name!r}")
    return _with_changes(changes, {number: count})[0]


def changes_of_record(project: Project, record_id: UUID, *, below: int | None = None) -> list[Change]:
    """Up to MOST_CHANGES changes of one record, newest first; `below` is the identifier of the last one seen."""
    changes = Change.objects.filter(project=project, record_id=record_id).order_by("-id")
    return list((changes.filter(id__lt=below) if below is not None else changes)[:MOST_CHANGES])


def earlier_values(project: Project, record: Record, version: int) -> tuple[dict[str, Any], list[Change]]:
    """The record's values at an earlier version, and the changes since, newest first."""
    values = snapshot(record)
    since = max(0, record.version - version)
    changes = list(Change.objects.filter(project=project, record_id=record.pk).order_by("-id")[:since])
    for change in changes:
        if change.action == Change.Action.UPDATED:
            values |= change.before
    return values, changes


def names_in(project: Project, values: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    """The names of the records (and members) that values of the history refer to; two queries at most."""
    keys: dict[bool, set[str]] = defaultdict(set)
    for row in values:
        for name, value in row.items():
            if name.endswith("_id") and isinstance(value, str):
                keys[name in ("user_id", "accepted_by_id")].add(value)
    names: dict[str, str] = {}
    if keys[False]:
        rows = Change.objects.filter(project=project, record_id__in=keys[False]).order_by("id")
        names |= {str(key): name for key, name in rows.values_list("record_id", "record_name")}
    if keys[True]:
        people = User.objects.filter(pk__in=keys[True]).values_list("pk", "username")
        names |= {str(key): name for key, name in people}
    return names


def model_of(change: Change) -> type[Record] | None:
    """The class of the changed record; None for a kind that is not undone and has no fields to show."""
    return MODELS.get(change.record_kind)


def _with_changes(changes: QuerySet[Change], counts: Mapping[int, int]) -> list[Revision]:
    numbered = changes.filter(revision__in=counts).annotate(
        place=Window(RowNumber(), partition_by=F("revision"), order_by=F("id").asc())
    )
    rows: dict[int, list[Change]] = defaultdict(list)
    for change in numbered.filter(place__lte=MOST_SHOWN).order_by("-revision", "id"):
        rows[change.revision].append(change)
    return [
        Revision(number, found[0].at, found[0].actor_name, found[0].via, counts[number], tuple(found))
        for number, found in rows.items()
    ]
