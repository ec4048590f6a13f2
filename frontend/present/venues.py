"""The venue's page."""

from typing import Any

from frontend.present.choice import Choice
from frontend.present.coverage import coverage_part
from frontend.present.drawing import drawing_of
from frontend.present.findings import findings_by_question, node_rows
from frontend.present.heading import heading
from frontend.present.map_data import map_data
from frontend.present.pictures import picture_under
from frontend.present.svg import svg_plan
from frontend.present.words import counted
from showplan.services.planning import PlannedVenue


def venue_page(planned: PlannedVenue, choice: Choice) -> dict[str, Any]:
    """Everything the venue's page shows for a choice."""
    venue, plan = planned.venue, planned.plan
    rows, questions = node_rows(planned, choice.analysis), findings_by_question(planned)
    silent = [one["cell"] for one in questions if not one["findings"]]
    placed = sum(row["is_placed"] for row in rows)
    return {
        **heading(venue, "venue"),
        "questions": questions,
        "open_questions": [cell.question for cell in silent if cell.state == "open"],
        "choice": choice,
        "nodes": rows,
        "node_counts": f"{counted(placed, 'node')} placed here, {len(rows) - placed} not",
        "assumptions": plan.assumptions,
        "fingerprint": plan.fingerprint,
        "planner_version": plan.planner_version,
        **(_plan(planned, choice) if choice.level is not None else {}),
    }


def _plan(planned: PlannedVenue, choice: Choice) -> dict[str, Any]:
    shown = coverage_part(planned, choice)
    drawing = drawing_of(planned, choice)
    coverage = {**shown["addresses"], "reading": shown["reading"]} if shown["addresses"] else None
    picture = picture_under(planned.venue.levels.get(name=choice.level.name))
    return {
        **shown,
        "drawing": drawing,
        "svg": svg_plan(drawing, picture),
        "map_data": map_data(drawing, coverage, picture),
    }
