"""Words and limits that the findings on power share."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from showplan.planner.findings import Finding, Quantity, Severity, Subject
from showplan.planner.power.facts import OutputFacts, PowerFacts
from showplan.planner.power.results import NodePower, OutputPower, ScenePower
from showplan.planner.power.supply_facts import SupplyFacts
from showplan.planner.scene import Node, NodeType, Scene
from showplan.planner.scene_power import Load

QUESTION: Final = "power-lasts"
MEMORY: Final = "from memory"


@dataclass(frozen=True)
class Judged:
    """What is judged: the Scene, the facts taken from it, and the numbers."""

    scene: Scene
    facts: PowerFacts
    power: ScenePower

    def outputs(self) -> Iterator["JudgedOutput"]:
        """Every output with what it belongs to."""
        for node, facts in zip(self.power.nodes, self.facts.nodes, strict=True):
            supply = self.facts.supplies[facts.supply]
            for output, out in zip(node.outputs, facts.outputs, strict=True):
                yield JudgedOutput(self.scene, node, output, out, supply, facts.node, facts.node_type)

    def is_wet(self, node: Node) -> bool:
        """Rain, mist or sweat reaches the node."""
        return self.scene.venue.is_wet or node.is_worn


@dataclass(frozen=True)
class JudgedOutput:
    """An output with its node and its supply."""

    scene: Scene
    node: NodePower
    output: OutputPower
    facts: OutputFacts
    supply: SupplyFacts
    kit: Node
    node_type: NodeType

    @property
    def load(self) -> Load:
        """The load it feeds."""
        return self.facts.load

    @property
    def name(self) -> str:
        """The load and where it hangs."""
        return f"{self.output.load} on {self.node.node}"

    def about(
        self, code: str, severity: Severity, sentence: str, remedy: str = "", *more: Quantity, **rest: str
    ) -> Finding:
        """A finding on the load."""
        return about(("load", self.output.load), code, severity, sentence, remedy, *more, **rest)


def about(
    subject: tuple[str, str],
    code: str,
    severity: Severity,
    sentence: str,
    remedy: str = "",
    *quantities: Quantity,
    formula: str = "",
    source: str = "",
) -> Finding:
    """A finding on power about (kind, name)."""
    return Finding(
        code=code,
        question=QUESTION,
        severity=severity,
        subject=Subject(*subject),
        sentence=sentence,
        remedy=remedy,
        quantities=quantities,
        formulas=tuple(formula.split()),
        source=source,
    )
