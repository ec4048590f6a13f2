"""What the drawing page shows: the server's own drawing where there is no script, and what the script starts from."""

from typing import Any
from urllib.parse import urlencode

from django.urls import reverse

from frontend.drawing.fields import drawn_kinds
from frontend.editing.places import sections
from frontend.present.choice import chosen
from frontend.present.drawing import drawing_of
from frontend.present.legend import legend_rows
from frontend.present.pictures import picture_under
from frontend.present.svg import SvgPlan, svg_plan
from showplan.records.models import Level, Venue
from showplan.services.computing import plan_values
from showplan.services.errors import NotFound, PlanImpossible
from showplan.services.pictures import MARGIN_CLASSES
from showplan.services.planning import PlannedVenue, plan_venue

# The questions that walls, zones, crowd areas, sites and placements decide.
QUESTIONS_HERE = ("heard", "legal-and-quiet")
RECORDS = ("levels", "walls", "zones", "crowd-areas", "candidate-sites", "placements")


def drawing_page(venue: Venue, level_name: str) -> dict[str, Any]:
    """Everything on the page for one level; raises NotFound for a level that is not there."""
    levels = list(venue.levels.all())
    level = _level(levels, level_name)
    planned, faults = _planned(venue)
    picture = picture_under(level) if level is not None else None
    return {
        **sections(venue.project, venue),
        "level": level,
        "levels": [_choice(one, level) for one in levels],
        "faults": faults,
        "answers": _answers(planned),
        "svg": _svg(planned, level, picture),
        "fingerprint": planned.plan.fingerprint if planned is not None else "",
        "planner_version": planned.plan.planner_version if planned is not None else None,
        "record_lists": [
            {"words": path.replace("-", " "), "address": reverse("venue-records-list", args=(venue.pk, path))}
            for path in RECORDS
        ],
        "legend": legend_rows(None),
        "picture": picture,
        "start": {**_start(venue, level), "picture": picture},
    }


def _level(levels: list[Level], name: str) -> Level | None:
    if not name:
        return levels[0] if levels else None
    found = next((level for level in levels if level.name == name), None)
    if found is None:
        known = ", ".join(level.name for level in levels) or "none at all"
        raise NotFound(f"there is no level {name!r} here; there is: {known}")
    return found


def _choice(level: Level, chosen_level: Level | None) -> dict[str, Any]:
    return {"name": level.name, "address": f"?{urlencode({'level': level.name})}", "is_chosen": level == chosen_level}


def _planned(venue: Venue) -> tuple[PlannedVenue | None, list[str]]:
    try:
        return plan_venue(venue), []
    except PlanImpossible as error:
        return None, [str(fault) for fault in error.faults]


def _answers(planned: PlannedVenue | None) -> list[dict[str, Any]]:
    answers = plan_values(planned.plan)["answers"] if planned is not None else []
    return [answer for answer in answers if answer["question"] in QUESTIONS_HERE]


def _svg(planned: PlannedVenue | None, level: Level | None, picture: dict[str, Any] | None) -> SvgPlan | None:
    if planned is None or level is None:
        return None
    return svg_plan(drawing_of(planned, chosen(planned, {"level": level.name})), picture)


def _start(venue: Venue, level: Level | None) -> dict[str, Any]:
    """What the script needs before it asks the API for the records."""
    nodes = venue.project.nodes.order_by("label").values("id", "label", "role", "is_worn")
    return {
        "venue": str(venue.pk),
        "project": str(venue.project.pk),
        "level": str(level.pk) if level is not None else None,
        "kinds": drawn_kinds(),
        "nodes": [{**node, "id": str(node["id"])} for node in nodes],
        "questions": list(QUESTIONS_HERE),
        "classes": [
            {"words": one.words, "low_db": one.low_db, "colour": one.colour, "dash": one.dash} for one in MARGIN_CLASSES
        ],
    }
