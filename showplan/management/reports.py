"""Plans as text for a terminal and as plain values for JSON."""

import textwrap
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from showplan.planner.findings import QUESTIONS
from showplan.planner.readiness import VenuePlan

WIDTH = 100


def readiness_table(plans: Sequence[tuple[str, VenuePlan]]) -> str:
    """Venues (columns of answers) against the seven questions, one block of lines for each venue."""
    title_width = max(len(question.title) for question in QUESTIONS)
    lines = []
    for name, plan in plans:
        lines += ["", name, "-" * len(name)]
        lines += [f"  {answer.question.title:<{title_width}}  {answer.in_words()}" for answer in plan.answers()]
    return "\n".join(lines)


def findings_table(plan: VenuePlan) -> str:
    """Every finding: severity, code and subject on one line, the sentence, numbers and remedy below."""
    blocks = []
    for finding in plan.findings:
        lines = [f"{finding.severity.upper():4}  {finding.code}  {finding.subject.kind} {finding.subject.name}"]
        numbers = ", ".join(str(quantity) for quantity in finding.quantities)
        for text in (finding.sentence, f"({numbers})" if numbers else "", finding.remedy, finding.source):
            lines += textwrap.wrap(text, WIDTH, initial_indent="      ", subsequent_indent="      ")
        blocks.append("\n".join(lines))
    return "\n" + "\n\n".join(blocks) if blocks else "\nno findings"


def plan_as_dict(plan: VenuePlan) -> dict[str, Any]:
    """The plan as JSON values: fingerprint, planner version, assumptions, answers, findings, routes."""
    return {
        "fingerprint": plan.fingerprint,
        "planner_version": plan.planner_version,
        "assumptions": list(plan.assumptions),
        "answers": [
            {
                "question": answer.question.key,
                "title": answer.question.title,
                "state": answer.state,
                "stops": answer.stops,
                "warnings": answer.warnings,
            }
            for answer in plan.answers()
        ],
        "findings": [asdict(finding) for finding in plan.findings],
        "routes": {
            network: {
                label: {"nodes": list(route.nodes), "margin_db": None if route.hops == 0 else route.margin_db}
                for label, route in sorted(routes.items())
            }
            for network, routes in plan.analysis.routes.items()
        },
    }
