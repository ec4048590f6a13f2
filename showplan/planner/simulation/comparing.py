"""The closed form's figures of a network beside what its simulation finds, in the same terms."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from showplan.physics.contention import VALID_UTILISATION
from showplan.planner.air import NetworkAir, NodeAir, TimePart
from showplan.planner.air.timing import latency_of
from showplan.planner.analysis import Analysis
from showplan.planner.obstacles import HouseState
from showplan.planner.scene import Scene

# Parts of the way before a packet is made, which is where the simulation's clock starts.
BEFORE_THE_RADIO: Final = ("wait for the next frame", "line into the gateway", "held back by the bridge")
NOTES: Final = (
    "Latency is counted from the moment a packet is made: the feed and the wait for the next frame are in neither.",
    "The closed form counts shadowing as a chance of each link; the simulation takes the forecast power as it is.",
    "The closed form counts the way along the best route; in the simulation the first copy counts, whichever way it"
    " came, so that where relays repeat nodes near the gateway are served sooner.",
    "The closed form takes tries and waits as independent of each other, and latency as spread like a normal"
    " distribution.",
)


@dataclass(frozen=True)
class ClosedForm:
    """One node by the closed form: share of its packets that arrive, and latency in ms of 50, 95 and 99 % of them."""

    delivery: float
    latency_ms: tuple[float, float, float] | None


@dataclass(frozen=True)
class NetworkClosedForm:
    """A network by the closed form; above 45 % `utilisation` of the radio channel `is_valid` is false."""

    nodes: Mapping[str, ClosedForm]
    utilisation: float
    is_valid: bool

    @property
    def in_words(self) -> str:
        """Whether it may be used."""
        used = f"The radio channel is in use {self.utilisation:.0%} of the time"
        if self.is_valid:
            return f"{used}: the closed form may be used."
        return f"{used}: above {VALID_UTILISATION:.0%} the closed form is not valid, and only the simulation counts."


def closed_form(scene: Scene, network: str, state: HouseState = "empty") -> NetworkClosedForm:
    """The network as the plan sees it, with the other networks on its radio channel."""
    return of_network(Analysis(scene, state).air[network])


def of_network(air: NetworkAir) -> NetworkClosedForm:
    """The same from an air that is known."""
    nodes = {node.label: _of_node(air, node) for node in air.served}
    return NetworkClosedForm(nodes, air.contention.utilisation, air.contention.is_valid)


def _of_node(air: NetworkAir, node: NodeAir) -> ClosedForm:
    # The plan counts whole frames, the simulation packets.
    packets = max(math.ceil(node.slots / max(air.packet_levels, 1)), 1)
    found = latency_of(radio_parts(node.parts))
    latency_ms = None if found is None else (found.p50_ms, found.p95_ms, found.p99_ms)
    return ClosedForm(node.delivery ** (1 / packets), latency_ms)


def radio_parts(parts: Sequence[TimePart]) -> tuple[TimePart, ...]:
    """The parts of the way from the making of a packet on."""
    return tuple(part for part in parts if part.name not in BEFORE_THE_RADIO)


def against(value: float | None, low: float | None, high: float | None) -> str:
    """Where a figure lies to an interval: inside, above, below; or what is missing, 'no figure' or 'no interval'."""
    if value is None:
        return "no figure"
    if low is None or high is None:
        return "no interval"
    return "below" if value < low else "above" if value > high else "inside"
