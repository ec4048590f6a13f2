"""The list of projects, and one project: venues against the seven questions, people, kit."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Count

from frontend.present.words import STATE_SYMBOLS, counted, day
from showplan.records.models import Membership, Project, Venue
from showplan.services.errors import PlanImpossible
from showplan.services.knowledge import reference_tables
from showplan.services.planning import plan_venue, region_conflicts, venues_in_tour_order


@dataclass(frozen=True)
class Cell:
    """The answer to one question for one venue; `anchor` is its place on the venue's page, empty while open."""

    question: str
    state: str
    symbol: str
    words: str
    anchor: str


@dataclass(frozen=True)
class VenueRow:
    """One venue in the order of the tour."""

    venue: Venue
    dates: str
    region: str
    cells: tuple[Cell, ...]
    faults: tuple[str, ...] = ()
    conflicts: tuple[Any, ...] = ()


def project_list(user: Any, projects: Any) -> list[dict[str, Any]]:
    """Projects with the user's role and the number of venues and nodes; the same number of queries for any number."""
    counted_projects = projects.annotate(
        venue_count=Count("venues", distinct=True), node_count=Count("nodes", distinct=True)
    )
    roles = dict(user.memberships.values_list("project_id", "role"))
    return [
        {
            "project": project,
            "role": roles[project.pk],
            "size": f"{counted(project.venue_count, 'venue')}, {counted(project.node_count, 'node')}",
        }
        for project in counted_projects
    ]


def project_page(project: Project) -> dict[str, Any]:
    """Everything the project's page shows."""
    rows = [_venue_row(venue) for venue in venues_in_tour_order(project)]
    return {
        "project": project,
        "rows": rows,
        "conflicts": [row for row in rows if row.conflicts],
        "questions": next(([cell.question for cell in row.cells] for row in rows if row.cells), []),
        "crews": _crews(project),
        "kit": _kit(project),
    }


def _venue_row(venue: Venue) -> VenueRow:
    dates, region = date_span(venue), region_name(venue.region)
    try:
        planned = plan_venue(venue)
    except PlanImpossible as error:
        return VenueRow(venue, dates, region, (), tuple(str(fault) for fault in error.faults))
    cells = tuple(answer_cell(answer) for answer in planned.plan.answers())
    return VenueRow(venue, dates, region, cells, conflicts=region_conflicts(planned))


def answer_cell(answer: Any) -> Cell:
    """One answer as a cell."""
    is_open = answer.state == "open"
    return Cell(
        answer.question.title,
        answer.state,
        STATE_SYMBOLS[answer.state],
        "not yet" if is_open else answer.in_words(),
        "" if is_open else f"q-{answer.question.key}",
    )


def date_span(venue: Venue) -> str:
    """First to last date in the venue, in words."""
    dates = sorted(tour_date.date for tour_date in venue.tour_dates.all())
    if not dates:
        return "no date yet"
    return day(dates[0]) if dates[0] == dates[-1] else f"{day(dates[0])} to {day(dates[-1])}"


def region_name(key: str) -> str:
    """The region's name from the table; a key without a row stands for itself."""
    region = reference_tables()["regions"].get(key)
    return region.name if region else key


def _crews(project: Project) -> list[dict[str, Any]]:
    """Crews with their members; people without a crew last."""
    members = list(project.memberships.select_related("user", "crew"))
    crews: list[dict[str, Any]] = [
        {"name": crew.name, "members": _of(members, crew.pk)} for crew in project.crews.all()
    ]
    loose = _of(members, None)
    return [*crews, {"name": "in no crew", "members": loose}] if loose else crews


def _of(members: Iterable[Membership], crew_id: Any) -> list[dict[str, str]]:
    return [
        {"name": member.user.get_full_name() or member.user.get_username(), "role": member.role}
        for member in members
        if member.crew_id == crew_id
    ]


def _kit(project: Project) -> list[tuple[str, str]]:
    roles = dict(project.nodes.values_list("role").annotate(Count("id")).order_by())
    nodes = [(role + "s", str(roles.get(role, 0))) for role in ("gateway", "relay", "receiver")]
    types = project.node_types.annotate(count=Count("nodes")).values_list("name", "count")
    supplies = dict(project.supplies.values_list("kind").annotate(Count("id")).order_by())
    networks = project.networks.values_list("name", "radio_channel")
    return [
        *nodes,
        ("node types", ", ".join(f"{count} × {name}" for name, count in types) or "none"),
        ("networks", ", ".join(f"{name} (radio channel {channel})" for name, channel in networks) or "none"),
        ("loads", str(project.loads.count())),
        ("batteries", str(supplies.get("battery", 0))),
        ("mains supplies", str(supplies.get("mains", 0))),
    ]
