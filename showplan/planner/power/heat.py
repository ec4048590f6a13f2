"""Heat: the switches' junctions, and tape that is worn."""

from collections.abc import Sequence
from math import isnan
from typing import Final

import numpy as np
from numpy.typing import NDArray

from showplan.physics.switches import conduction_w, junction_c, resistive_switching_w, switching_w, warm_mohm
from showplan.physics.touch_heat import tape_surface_high_c
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


def switches(
    outputs: Sequence[tuple[OutputFacts, NodeFacts]], amps: Floats, volts: Floats, warmest_c: float
) -> tuple[SwitchPower, ...]:
    """The switch of every output (n,) that carries `amps` at full level and holds off `volts`."""
    if not outputs:
        return ()
    cold_mohm = np.array([out.switch_mohm for out, _ in outputs])
    k_per_w = np.array([out.switch_k_per_w for out, _ in outputs])
    limit_c = np.array([node.node_type.switch_limit_c for _, node in outputs])
    around_c = np.array([air_c(node.node, warmest_c) for _, node in outputs])
    edges_w = _edges_w(outputs, amps, volts)
    junction = junction_c(amps, cold_mohm, k_per_w, around_c, 1.0, edges_w)
    # a switch that runs away is counted as warm as it may be: the circuit needs a figure
    counted_c = np.maximum(np.minimum(np.where(np.isnan(junction), limit_c, junction), limit_c), 25.0)
    mohm = warm_mohm(cold_mohm, counted_c)
    loss_w = conduction_w(amps, mohm, 1.0) + edges_w
    return tuple(
        SwitchPower(out.switch_mohm, warm, loss, None if isnan(hot_c) else hot_c, most_c, is_fully_on(node.node_type))
        for (out, node), warm, loss, hot_c, most_c in zip(
            outputs, mohm.tolist(), loss_w.tolist(), junction.tolist(), limit_c.tolist(), strict=True
        )
    )


def _edges_w(outputs: Sequence[tuple[OutputFacts, NodeFacts]], amps: Floats, volts: Floats) -> Floats:
    """Loss at the edges while dimming: of a resistive load for LEDs and lamps, the harder estimate for others."""
    hz = np.array([node.node_type.dimming_hz or 0.0 for _, node in outputs])
    edge_us = np.array([2 * (node.node_type.switch_edge_us or 0.0) for _, node in outputs])  # up and down
    is_soft = np.array([out.behaviour in ("led-string", "resistive") for out, _ in outputs])
    soft_w = resistive_switching_w(volts, amps, edge_us, hz)
    return np.where(is_soft, soft_w, switching_w(volts, amps, edge_us, hz))


def surface_c(out: OutputFacts, watts: float, level: float, warmest_c: float) -> float | None:
    """Upper end of the estimate for a worn tape that takes `watts` at full level; None for other loads."""
    if out.tape is None:
        return None
    return tape_surface_high_c(watts * level / out.tape.length_m, warmest_c)
