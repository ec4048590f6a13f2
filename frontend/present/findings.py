"""Findings by question, the gravest first, and the nodes with their routes."""

from typing import Any

from frontend.present.places import drawn_places
from frontend.present.projects import answer_cell
from frontend.present.words import SEVERITY_SYMBOLS, decibels, percent
from showplan.services.knowledge import formula_named
from showplan.services.pictures import margin_class
from showplan.services.planning import PlannedVenue


def findings_by_question(planned: PlannedVenue) -> list[dict[str, Any]]:
    """Each question with its answer and its findings, in the planner's order."""
    return [
        {
            "key": answer.question.key,
            "cell": answer_cell(answer),
            "findings": [finding_in_words(one) for one in planned.plan.findings if one.question == answer.question.key],
        }
        for answer in planned.plan.answers()
    ]


def finding_in_words(finding: Any) -> dict[str, Any]:
    """One finding for `_finding.html`."""
    return {
        "code": finding.code,
        "severity": finding.severity,
        "symbol": SEVERITY_SYMBOLS[finding.severity],
        "subject": f"{finding.subject.kind} {finding.subject.name}",
        "sentence": finding.sentence,
        "remedy": finding.remedy,
        "numbers": [str(quantity).replace(" -", " −") for quantity in finding.quantities],
        "formulas": [formula_named(name) for name in finding.formulas],
        "source": finding.source,
    }


def node_rows(planned: PlannedVenue, analysis: Any) -> list[dict[str, Any]]:
    """Every node of the kit: the placed ones first, each with its way from the gateway, weakest margin and delivery.

    `analysis` is the plan's in the state of the house that is shown.
    """
    places = drawn_places(planned)
    rows = []
    for node in planned.scene.nodes:
        place = places.get(node.label)
        rows.append(
            {
                "label": node.label,
                "role": f"worn {node.role}" if node.is_worn else node.role,
                "network": node.network or "none",
                "crew": node.crew or "–",
                "place": place.in_words if place else "not placed here",
                "is_placed": place is not None,
                **_way(analysis, node.label, place is not None),
            }
        )
    return sorted(rows, key=lambda row: not row["is_placed"])


def _way(analysis: Any, label: str, is_placed: bool) -> dict[str, Any]:
    route = next((routes[label] for routes in analysis.routes.values() if label in routes), None)
    nothing = {"margin": "–", "margin_class": None, "delivery": "–"}
    if route is None:
        return {"route": "not heard" if is_placed else "–", **nothing}
    if route.hops == 0:
        return {"route": "fed by the control computer", **nothing}
    of_class = margin_class(route.margin_db)
    return {
        "route": " – ".join(route.nodes),
        "margin": decibels(route.margin_db),
        "margin_class": of_class,
        "delivery": percent(route.delivery),
    }
