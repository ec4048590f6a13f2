"""The venue's plan: every check run, its findings in order, and the answer to each of the seven questions.

A new check is one function from an Analysis to findings and one line in CHECKS; it then stands in the API, on the
page and on paper.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from showplan.planner import PLANNER_VERSION
from showplan.planner.air.assumptions import air_assumptions
from showplan.planner.air.findings import air_findings
from showplan.planner.analysis import Analysis
from showplan.planner.assumptions import assumptions_of
from showplan.planner.findings import QUESTIONS, Finding, Question
from showplan.planner.hearing import hearing_findings
from showplan.planner.obstacles import HouseState, states_of
from showplan.planner.power.assumptions import power_assumptions
from showplan.planner.power.findings import power_findings
from showplan.planner.power.kept import NOTHING_TO_FEED
from showplan.planner.prediction_right import NO_READINGS, prediction_findings
from showplan.planner.predictions import WalkTest
from showplan.planner.routes import Route
from showplan.planner.scene import Scene
from showplan.planner.scene_file import fingerprint
from showplan.planner.spectrum import spectrum_findings

Check = Callable[[Analysis], Iterable[Finding]]
# Which question each check answers, and the check. A question without a check is 'not answered yet'.
CHECKS: tuple[tuple[str, Check], ...] = (
    ("legal-and-quiet", spectrum_findings),
    ("heard", hearing_findings),
    ("data-fits", air_findings),
    ("power-lasts", power_findings),
    ("prediction-right", prediction_findings),
)
# A question is not answered while a finding with one of these codes stands.
LEAVES_OPEN = frozenset({NO_READINGS, NOTHING_TO_FEED})

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
    """Everything the planner says about one Scene. `analyses` keep the numbers behind, by state of the house.

    Findings and answers are those of the worst state; a finding that holds in one state only says so.
    """

    fingerprint: str
    planner_version: str
    assumptions: tuple[str, ...]
    findings: tuple[Finding, ...]
    analyses: Mapping[HouseState, Analysis]

    @property
    def states(self) -> tuple[HouseState, ...]:
        """The states in which the venue differs: `empty` alone, or both."""
        return tuple(self.analyses)

    @property
    def analysis(self) -> Analysis:
        """The numbers of the hardest state: the full house where it differs from the empty one."""
        return self.analyses[self.states[-1]]

    def answers(self) -> tuple[Answer, ...]:
        """The seven questions with their state, in order."""
        return tuple(self._answer(question) for question in QUESTIONS)

    def route_to(self, label: str) -> Route | None:
        """Best route to a node in the hardest state, or None."""
        return next((routes[label] for routes in self.analysis.routes.values() if label in routes), None)

    def _answer(self, question: Question) -> Answer:
        if question.key not in {key for key, _ in CHECKS}:
            return Answer(question, "open")
        found = [finding for finding in self.findings if finding.question == question.key]
        severities = [finding.severity for finding in found]
        stops, warnings = severities.count("stop"), severities.count("warn")
        quiet: State = "open" if LEAVES_OPEN & {finding.code for finding in found} else "ready"
        return Answer(question, "stop" if stops else "look" if warnings else quiet, stops, warnings)


def plan(scene: Scene, known_fingerprint: str = "") -> VenuePlan:
    """Run every check on a Scene, in each state of the house that differs.

    `known_fingerprint` is the Scene's own where the caller has worked it out already.
    """
    walk_test = WalkTest(scene)
    analyses = {state: Analysis(scene, state, walk_test) for state in states_of(scene)}
    by_state = {state: [f for _, check in CHECKS for f in check(analysis)] for state, analysis in analyses.items()}
    return VenuePlan(
        fingerprint=known_fingerprint or fingerprint(scene),
        planner_version=PLANNER_VERSION,
        assumptions=(*assumptions_of(scene), *air_assumptions(scene), *power_assumptions(scene)),
        findings=tuple(sorted(_over_states(by_state), key=lambda finding: finding.rank)),
        analyses=analyses,
    )


def _over_states(by_state: Mapping[HouseState, list[Finding]]) -> Iterator[Finding]:
    """One finding for each code and subject: the last state's where it holds in all, else with its state named."""
    keyed = {state: {(f.code, f.subject): f for f in found} for state, found in by_state.items()}
    for key in dict.fromkeys(key for found in keyed.values() for key in found):
        holding = [state for state, found in keyed.items() if key in found]
        finding = keyed[holding[-1]][key]
        if len(holding) == len(keyed):
            yield finding
        else:
            yield replace(finding, house=holding[-1], sentence=f"With the house {holding[-1]}: {finding.sentence}")
