"""The direct-current circuit of many supplies, nodes and outputs at once.

A supply (e.m.f. and internal resistance) feeds nodes, each by its trunk; a node feeds its outputs, each through a
series resistance. All nodes of one supply, and all outputs of one node, pull on each other. Newton's method on the
supplies' voltages and the nodes' currents: a step is exact for loads linear in the voltage; from the open circuit it
comes down to the solution of highest voltage, the one that a circuit takes when it is switched on.
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from showplan.planner.power.power_tape import Collapse, PowerTape

Floats = NDArray[np.float64]
Whole = NDArray[np.intp]
Flags = NDArray[np.bool_]
ROUNDS: Final = 100
CLOSE: Final = 1e-12


@dataclass(frozen=True)
class Circuit:
    """Supplies (s,), nodes (k,), outputs (n,); `supply` (k,) and `node` (n,) say what hangs where.

    An output takes `fixed_a`, `siemens` times what it has above `threshold_v`, and `watts`; several may be 0. It has
    `series_ohm` before it. `power_tapes` are (output, tape): tapes of constant power.
    """

    emf_v: Floats
    source_ohm: Floats
    supply: Whole
    trunk_ohm: Floats
    standing_a: Floats
    node: Whole
    series_ohm: Floats
    fixed_a: Floats
    siemens: Floats
    threshold_v: Floats
    watts: Floats
    power_tapes: tuple[tuple[int, PowerTape], ...] = ()


@dataclass(frozen=True)
class Solved:
    """Volts at the supplies' terminals (s,), at the nodes (k,), behind the outputs' series resistance (n,); amperes.

    `has_collapsed` (n,): a load of constant power without a solution; it counts as off.
    """

    supply_v: Floats
    supply_a: Floats
    node_v: Floats
    node_a: Floats
    output_v: Floats
    output_a: Floats
    has_collapsed: Flags


def solve(circuit: Circuit) -> Solved:
    """The circuit with everything on. Loads that pull the voltage down for good are taken off and named."""
    off = np.zeros(len(circuit.node), dtype=np.bool_)
    while True:
        found = _attempt(_without(circuit, off))
        if isinstance(found, _Solution):
            return _as_solved(circuit, found, off)
        off = off | found


def _without(circuit: Circuit, off: Flags) -> Circuit:
    if not off.any():
        return circuit
    return replace(
        circuit,
        watts=np.where(off, 0.0, circuit.watts),
        power_tapes=tuple((output, tape) for output, tape in circuit.power_tapes if not off[output]),
    )


@dataclass(frozen=True)
class _Solution:
    supply_v: Floats
    node_a: Floats
    output_a: Floats


def _attempt(circuit: Circuit) -> _Solution | Flags:
    """The solution, or the outputs that must be taken off first."""
    supplies, nodes = len(circuit.emf_v), len(circuit.trunk_ohm)
    supply_v, node_a = circuit.emf_v.copy(), np.zeros(nodes)
    draws = circuit.watts > 0
    draws[[output for output, _ in circuit.power_tapes]] = True
    for _ in range(ROUNDS):
        node_v = supply_v[circuit.supply] - circuit.trunk_ohm * node_a
        amps, slope, lost = _branches(circuit, node_v[circuit.node])
        if lost.any():
            return lost
        taken = circuit.standing_a + np.bincount(circuit.node, amps, nodes)
        steep = 1 + circuit.trunk_ohm * np.bincount(circuit.node, slope, nodes)
        if (steep <= 0).any():
            return draws & (steep <= 0)[circuit.node]
        gain = np.bincount(circuit.node, slope, nodes) / steep
        rest = (node_a - taken) / steep
        pull = 1 + circuit.source_ohm * np.bincount(circuit.supply, gain, supplies)
        if (pull <= 0).any():
            return draws & (pull <= 0)[circuit.supply][circuit.node]
        total_a = np.bincount(circuit.supply, node_a - rest, supplies)
        change_v = (circuit.emf_v - supply_v - circuit.source_ohm * total_a) / pull
        change_a = gain * change_v[circuit.supply] - rest
        supply_v = supply_v + change_v
        node_a = node_a + change_a
        if (np.abs(change_v) <= CLOSE * (1 + np.abs(circuit.emf_v))).all() and (
            np.abs(change_a) <= CLOSE * (1 + np.abs(node_a))
        ).all():
            return _Solution(supply_v, node_a, amps)
    return draws if draws.any() else _Solution(supply_v, node_a, amps)


def _branches(circuit: Circuit, before_v: Floats) -> tuple[Floats, Floats, Flags]:
    """(current, its slope by voltage, without a solution) of each output with so many volts at its node."""
    r = circuit.series_ohm
    through = circuit.siemens / (1 + r * circuit.siemens)
    above = before_v - circuit.threshold_v - r * circuit.fixed_a
    lit = (above > 0) & (circuit.siemens > 0)
    amps = circuit.fixed_a + np.where(lit, through * above, 0.0)
    slope = np.where(lit, through, 0.0)
    lost = np.zeros(len(r), dtype=np.bool_)
    if (circuit.watts > 0).any():
        inner = before_v**2 - 4 * r * circuit.watts
        lost = (circuit.watts > 0) & ((inner <= 0) | (before_v <= 0))
        root = np.sqrt(np.where(lost, 1.0, np.maximum(inner, 0.0)))
        steady = np.where(lost, 0.0, 2 * circuit.watts / np.where(lost, 1.0, before_v + root))
        amps, slope = amps + steady, slope - steady / root
    for output, tape in circuit.power_tapes:
        try:
            taken, steepness = tape.current_a(float(before_v[output]))
        except Collapse:
            lost[output] = True
        else:
            amps[output] += taken
            slope[output] += steepness
    return amps, slope, lost


def _as_solved(circuit: Circuit, found: _Solution, off: Flags) -> Solved:
    node_v = found.supply_v[circuit.supply] - circuit.trunk_ohm * found.node_a
    return Solved(
        supply_v=found.supply_v,
        supply_a=np.bincount(circuit.supply, found.node_a, len(circuit.emf_v)).astype(np.float64),
        node_v=node_v,
        node_a=found.node_a,
        output_v=node_v[circuit.node] - circuit.series_ohm * found.output_a,
        output_a=found.output_a,
        has_collapsed=off,
    )
