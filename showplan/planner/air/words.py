"""Words that the findings on the show's data share."""

from collections.abc import Sequence
from typing import Final

from showplan.planner.air.results import NetworkAir
from showplan.planner.findings import Finding, Quantity, Severity, Subject

QUESTION: Final = "data-fits"
LATE_MS: Final = 45.0
LATE_SOURCE: Final = (
    "ITU-R BT.1359-1, consideration (g): sound 45 ms ahead of its picture is noticed;"
    " a light behind the beat is that side"
)
MOST_NAMES: Final = 5


def about(
    air: NetworkAir,
    code: str,
    severity: Severity,
    sentence: str,
    remedy: str = "",
    quantities: tuple[Quantity, ...] = (),
    formulas: tuple[str, ...] = (),
    source: str = "",
) -> Finding:
    """A finding on one network."""
    return Finding(
        code=code,
        question=QUESTION,
        severity=severity,
        subject=Subject("network", air.network),
        sentence=sentence,
        remedy=remedy,
        quantities=quantities,
        formulas=formulas,
        source=source,
    )


def listed(labels: Sequence[str]) -> str:
    """Names in a row; beyond a few the rest is counted."""
    shown = ", ".join(labels[:MOST_NAMES])
    rest = len(labels) - MOST_NAMES
    return f"{shown} and {rest} more" if rest > 0 else shown
