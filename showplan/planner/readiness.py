"""The venue's plan: every check run, its findings in order, and the answer to each of the seven questions.

A new check is one function from an Analysis to findings and one line in CHECKS; it then stands in the API, on the
page and on paper.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Literal

from showplan import reference
from showplan.planner import PLANNER_VERSION
from showplan.planner.analysis import Analysis
from showplan.planner.findings import QUESTIONS, Finding, Question
from showplan.planner.hearing import hearing_findings
from showplan.planner.links import BODY_POSTURE
from showplan.planner.routes import Route
from showplan.planner.scene import Scene
from showplan.planner.scene_file import fingerprint
from showplan.planner.spectrum import spectrum_findings

Check = Callable[[Analysis], Iterable[Finding]]
# Which question each check answers, and the check. A question without a check is 'not answered yet'.
CHECKS: tuple[tuple[str, Check], ...] = (
    ("legal-and-quiet", lambda analysis: spectrum_findings(analysis.scene)),
    ("heard", hearing_findings),
)

State = Literal["ready", "look", "stop", "open"]


@dataclass(frozen=True)
class Answer:
    """The state of one question: `stop` or `look` after its gravest finding, `ready`, or `open`: not answered yet."""

    question: Question
    state: State
    stops: int = 0
    warnings: int = 0

    def in_words(self) -> str:
        """The answer as a short phrase."""
        match self.state:
            case "open":
                return "not answered yet"
            case "ready":
                return "ready"
            case "look":
                return f"{self.warnings} to look at"
            case _:
                also = f", {self.warnings} to look at" if self.warnings else ""
                return f"{self.stops} to fix{also}"


@dataclass(frozen=True)
class VenuePlan:
    """Everything the planner says about one Scene. `analysis` keeps the numbers behind the findings."""

    fingerprint: str
    planner_version: str
    assumptions: tuple[str, ...]
    findings: tuple[Finding, ...]
    analysis: Analysis

    def answers(self) -> tuple[Answer, ...]:
        """The seven questions with their state, in order."""
        return tuple(self._answer(question) for question in QUESTIONS)

    def route_to(self, label: str) -> Route | None:
        """Best route to a node, or None."""
        return next((routes[label] for routes in self.analysis.routes.values() if label in routes), None)

    def _answer(self, question: Question) -> Answer:
        if question.key not in {key for key, _ in CHECKS}:
            return Answer(question, "open")
        severities = [finding.severity for finding in self.findings if finding.question == question.key]
        stops, warnings = severities.count("stop"), severities.count("warn")
        return Answer(question, "stop" if stops else "look" if warnings else "ready", stops, warnings)


def plan(scene: Scene) -> VenuePlan:
    """Run every check on a Scene."""
    analysis = Analysis(scene)
    findings = [finding for _, check in CHECKS for finding in check(analysis)]
    return VenuePlan(
        fingerprint=fingerprint(scene),
        planner_version=PLANNER_VERSION,
        assumptions=_assumptions(scene),
        findings=tuple(sorted(findings, key=lambda finding: finding.rank)),
        analysis=analysis,
    )


def _assumptions(scene: Scene) -> tuple[str, ...]:
    venue = scene.venue
    environment = reference.environments()[venue.environment]
    exponent = f", exponent {venue.path_loss_exponent:g}" if venue.path_loss_model == "log-distance" else ""
    return (
        f"Path loss: {venue.path_loss_model}{exponent}, plus walls and floors crossed"
        f" (material table, normal incidence).",
        f"Fade margin {venue.fade_margin_db:g} dB on every link.",
        f"Environment: {environment.name}, shadowing {environment.shadowing_sigma_db:g} dB ({environment.source}).",
        f"Worn nodes: body loss for the posture '{BODY_POSTURE}' (from memory; edit for the costume).",
        "Regional limits are a dated summary; the regulator decides.",
    )
