"""Writing projects and venues as documents: one query for each kind of record, ordered by name."""

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from showplan.records.models import Project, Venue
from showplan.services.errors import NotFound
from showplan.services.exchange.documents import FORMAT_VERSION, PROJECT_FORMAT, VENUE_FORMAT
from showplan.services.exchange.forms import KIT, ON_VENUE, VENUES, list_name
from showplan.services.exchange.values import plain
from showplan.services.nouns import Noun
from showplan.services.snapshots import edited_fields

Row = dict[str, Any]
Groups = Mapping[Any, list[Row]]


def project_document(project: Project) -> dict[str, Any]:
    """The whole project: its crews, its kit and every venue with all that hangs on it. Raises NotFound."""
    with _at_rest(project) as fresh:
        document: dict[str, Any] = {"format": PROJECT_FORMAT, "format_version": FORMAT_VERSION}
        document["project"] = {field.name: getattr(fresh, field.name) for field in edited_fields(Project)}
        for noun in KIT:
            document[list_name(noun)] = _rows(noun, noun.within(fresh))[fresh.pk]
        document["venues"] = _venues(fresh.venues.all())
    return document


def venue_document(venue: Venue) -> dict[str, Any]:
    """One venue with all that hangs on it; nodes and node types stand in it by their names. Raises NotFound."""
    with _at_rest(venue.project):
        found = _venues(Venue.objects.filter(pk=venue.pk))
    if not found:
        raise NotFound(f"venue {venue.name!r} was deleted meanwhile")
    return {"format": VENUE_FORMAT, "format_version": FORMAT_VERSION, "venue": found[0]}


@contextmanager
def _at_rest(project: Project) -> Iterator[Project]:
    """The project while nobody writes it: edits take the same lock, so no document holds half of one."""
    with transaction.atomic():
        fresh = Project.objects.select_for_update().filter(pk=project.pk).first()
        if fresh is None:
            raise NotFound(f"project {project.name!r} was deleted meanwhile")
        yield fresh


def _venues(venues: QuerySet[Venue]) -> list[Row]:
    groups = {
        list_name(noun): _rows(noun, noun.model._default_manager.filter(**{f"{noun.way_up}__in": venues}))
        for noun in ON_VENUE
    }
    own = _rows(VENUES, venues, grouped_by="pk")
    listed = [{**row, **{name: groups[name][key] for name in groups}} for key, rows in own.items() for row in rows]
    return sorted(listed, key=lambda row: str(row["name"]))


def _rows(noun: Noun, records: QuerySet[Any], grouped_by: str = "") -> Groups:
    """The records as JSON values by their parent's key, in order of name; fields without a value are left out."""
    columns = {field.name: field.name for field in noun.fields}
    columns |= {name: f"{name}__{target.model.natural_key}" for name, target in noun.targets.items()}
    groups: dict[Any, list[Row]] = defaultdict(list)
    for parent, *values in records.order_by().values_list(grouped_by or noun.way_up, *columns.values()):
        row = {name: plain(value) for name, value in zip(columns, values, strict=True) if value is not None}
        groups[parent].append(row)
    for rows in groups.values():
        rows.sort(key=lambda row: _place(noun, row))
    return groups


def _place(noun: Noun, row: Row) -> tuple[str, str]:
    """Where a row stands: by its name, or by the noun's own order; the rest of the row decides between equals."""
    first = row.get(noun.model.natural_key, row.get(noun.sort, ""))
    return str(first), json.dumps(row, sort_keys=True)
