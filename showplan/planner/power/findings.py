"""Does the power last, safely? Findings on every node that feeds a load, placed here or not, and every supply."""

from collections.abc import Iterable

from showplan.planner.analysis import Analysis
from showplan.planner.findings import Finding
from showplan.planner.power.kept import kept


def power_findings(analysis: Analysis) -> Iterable[Finding]:
    """All findings on 'does the power last, safely?'; the same in every state of the house."""
    return kept(analysis.scene)[1]
