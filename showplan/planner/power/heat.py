"""Heat: the switches' junctions, and tape that is worn."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from showplan.planner.power import tables
from showplan.planner.power.facts import NodeFacts, OutputFacts, air_c
from showplan.planner.power.results import SwitchPower
from showplan.planner.scene import NodeType

Floats = NDArray[np.float64]
SKIN_LIMIT_C: Final = 43.0  # contact for minutes to hours; ECMA-287 as quoted, ISO 13732-1 from memory
SURE_DRIVE: Final = 2.0  # times the highest threshold: fully on, where no resistance is given for the drive


def is_fully_on(node_type: NodeType) -> bool | None:
    """Whether the drive reaches that at which the switch's resistance is given; None where too little is known."""
    if node_type.drive_v is None:
        return None
    if node_type.switch_rated_drive_v is not None:
        return node_type.drive_v >= node_type.switch_rated_drive_v
    if node_type.switch_threshold_v is not None:
        return node_type.drive_v >= SURE_DRIVE * node_type.switch_threshold_v
    return None


def switching_w(out: OutputFacts, node_type: NodeType, volts: float, amps: float) -> float:
    """Loss at the edges while dimming: of a resistive load for LEDs and lamps, the harder estimate for others."""
    if not node_type.dimming_hz or not node_type.switch_edge_us:
        return 0.0
    is_soft = out.behaviour in ("led-string", "resistive")
    return tables.switching_loss_w(volts, amps, 2 * node_type.switch_edge_us, node_type.dimming_hz, is_soft=is_soft)


def switches(
    outputs: Sequence[tuple[OutputFacts, NodeFacts]], amps: Floats, volts: Floats, warmest_c: float
) -> tuple[SwitchPower, ...]:
    """The switch of every output (n,) that carries `amps` at full level and holds off `volts`."""
    found = []
    for (out, node), current_a, off_v in zip(outputs, amps.tolist(), volts.tolist(), strict=True):
        edges_w = switching_w(out, node.node_type, off_v, current_a)
        junction = tables.junction_c(
            current_a, out.switch_mohm / 1000, out.switch_k_per_w, air_c(node.node, warmest_c), edges_w
        )
        limit_c = node.node_type.switch_limit_c
        # a switch that runs away is counted as warm as it may be: the circuit needs a figure
        warm_c = limit_c if junction is None else min(junction, limit_c)
        mohm = tables.hot_mohm(out.switch_mohm, max(warm_c, 25.0))
        loss_w = current_a**2 * mohm / 1000 + edges_w
        found.append(SwitchPower(out.switch_mohm, mohm, loss_w, junction, limit_c, is_fully_on(node.node_type)))
    return tuple(found)


def surface_c(out: OutputFacts, watts: float, level: float, warmest_c: float) -> float | None:
    """Estimate for a tape's surface against cloth or skin, that gives `watts` at full level; None for other loads."""
    if out.tape is None:
        return None
    return warmest_c + tables.tape_rise_k(watts * level / out.tape.length_m)
