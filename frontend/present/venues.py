"""The venue's page."""

from typing import Any

from django.urls import reverse

from frontend.present.choice import Choice
from frontend.present.drawing import drawing_of
from frontend.present.findings import findings_by_question, node_rows
from frontend.present.legend import legend_rows
from frontend.present.map_data import map_data
from frontend.present.pictures import picture_under
from frontend.present.projects import region_name
from frontend.present.svg import svg_plan
from frontend.present.words import counted, day
from showplan.records.models import Venue
from showplan.services.errors import InvalidInput, PlanImpossible
from showplan.services.pictures import Coverage, level_coverage
from showplan.services.planning import PlannedVenue


def venue_page(planned: PlannedVenue, choice: Choice) -> dict[str, Any]:
    """Everything the venue's page shows for a choice."""
    venue, plan = planned.venue, planned.plan
    rows, questions = node_rows(planned), findings_by_question(planned)
    placed = sum(row["is_placed"] for row in rows)
    return {
        **_heading(venue),
        "questions": questions,
        "open_questions": [one["cell"].question for one in questions if one["cell"].state == "open"],
        "choice": choice,
        "nodes": rows,
        "node_counts": f"{counted(placed, 'node')} placed here, {len(rows) - placed} not",
        "assumptions": plan.assumptions,
        "fingerprint": plan.fingerprint,
        "planner_version": plan.planner_version,
        **(_plan(planned, choice) if choice.level is not None else {}),
    }


def unplannable_page(venue: Venue, error: PlanImpossible) -> dict[str, Any]:
    """A venue whose records break a rule the planner needs: every fault in place of a plan."""
    return {**_heading(venue), "faults": [str(fault) for fault in error.faults]}


def _heading(venue: Venue) -> dict[str, Any]:
    return {
        "venue": venue,
        "project": venue.project,
        "region": region_name(venue.region),
        "dates": [{"day": day(one.date), "kind": one.kind, "note": one.note} for one in venue.tour_dates.all()],
    }


def _plan(planned: PlannedVenue, choice: Choice) -> dict[str, Any]:
    coverage = _coverage(planned, choice)
    address = None
    if coverage is not None:
        address = f"{reverse('coverage', args=[planned.venue.pk])}?{choice.query}"
    drawing = drawing_of(planned, choice)
    picture = picture_under(planned.venue.levels.get(name=choice.level.name))
    return {
        "drawing": drawing,
        "svg": svg_plan(drawing, picture),
        "map_data": map_data(drawing, address, picture),
        "coverage_address": address,
        "coverage": coverage,
        "listener": _listener(coverage) if coverage is not None else "",
        "legend": legend_rows(coverage),
    }


def _coverage(planned: PlannedVenue, choice: Choice) -> Coverage | None:
    if choice.network is None or not choice.senders:
        return None
    try:
        return level_coverage(planned, choice.level.name, choice.network, choice.sender)
    except InvalidInput:
        return None


def _listener(coverage: Coverage) -> str:
    """For which receiver the coverage holds."""
    listener = coverage.listener
    worn = ", worn" if listener.is_worn else ""
    return (
        f"{listener.node_type.name}{worn}, {listener.height_m:g} m above the floor, in cells of {coverage.step_m:.2g} m"
    )
