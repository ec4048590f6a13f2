"""The circuit of a Scene in the four states: from facts to arrays, and their solutions."""

from collections.abc import Mapping
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from showplan.planner.power.circuit import Circuit, Solved, solve
from showplan.planner.power.facts import OutputFacts, PowerFacts
from showplan.planner.power.power_tape import PowerTape
from showplan.planner.power.results import STATES, InStates, StateName
from showplan.planner.power.tape import AffineTape, SteadyTape

Floats = NDArray[np.float64]


class Layout:
    """All supplies (s,), nodes (k,) and outputs (n,) of the facts in a row, and their circuit in each state."""

    def __init__(self, facts: PowerFacts) -> None:
        self.facts = facts
        self.outputs: tuple[OutputFacts, ...] = tuple(out for node in facts.nodes for out in node.outputs)
        counts = [len(node.outputs) for node in facts.nodes]
        self.node = np.repeat(np.arange(len(counts)), counts)
        self.first = np.concatenate([[0], np.cumsum(counts)]).astype(int)

    @cached_property
    def rated_a(self) -> Floats:
        """Rated current (n,) of the loads."""
        return np.array([out.rated_a for out in self.outputs])

    @cached_property
    def switch_ohm(self) -> Floats:
        """Resistance (n,) of the switches at 25 C."""
        return np.array([out.switch_mohm / 1000 for out in self.outputs])

    @cached_property
    def affine_tapes(self) -> dict[int, AffineTape]:
        """Tapes whose current follows the voltage, by output."""
        return {
            i: AffineTape(out.tape, out.siemens / out.tape.length_m, out.dark_v)
            for i, out in enumerate(self.outputs)
            if out.tape is not None and out.behaviour in ("led-string", "resistive")
        }

    @cached_property
    def steady_tapes(self) -> dict[int, SteadyTape]:
        """Every tape at its rated current, by output."""
        return {
            i: SteadyTape(out.tape, out.rated_a / out.tape.length_m)
            for i, out in enumerate(self.outputs)
            if out.tape is not None
        }

    def circuit(self, state: StateName, switch_ohm: Floats) -> Circuit:
        """The circuit in a state, with switches (n,) as warm as they are."""
        nodes, supplies = self.facts.nodes, self.facts.supplies
        is_rated = state == "rated"
        behaviour = np.array([out.behaviour for out in self.outputs], dtype=object)
        has_tape = np.array([out.tape is not None for out in self.outputs], dtype=bool)
        follows = np.isin(behaviour, ("led-string", "resistive")) & (not is_rated)
        steady = (behaviour == "constant-current") | is_rated
        powered = (behaviour == "constant-power") & (not is_rated)
        leads = np.array([0.0 if out.tape is not None else out.lead_ohm for out in self.outputs])
        fuses = np.array([out.fuse_ohm for out in self.outputs])
        return Circuit(
            emf_v=np.array([getattr(one.emf_v, state) for one in supplies]),
            source_ohm=np.array([one.source_ohm for one in supplies]),
            supply=np.array([one.supply for one in nodes], dtype=int),
            trunk_ohm=np.array([one.trunk_ohm + one.fuse_ohm for one in nodes]),
            standing_a=np.array([one.standing_a for one in nodes]),
            node=self.node,
            series_ohm=fuses + switch_ohm + leads,
            fixed_a=np.where(steady, self.rated_a, 0.0),
            siemens=np.where(follows, self._siemens, 0.0),
            threshold_v=np.array([out.dark_v for out in self.outputs]),
            watts=np.where(powered & ~has_tape, self._rated_w, 0.0),
            power_tapes=tuple((int(i), self.power_tape(int(i), switch_ohm)) for i in np.nonzero(powered & has_tape)[0]),
        )

    def power_tape(self, output: int, switch_ohm: Floats) -> PowerTape:
        """The tape of an output at constant power, behind its fuse and switch."""
        out = self.outputs[output]
        assert out.tape is not None  # asked by the caller
        return PowerTape(out.tape, out.rated_w / out.tape.length_m, out.fuse_ohm + float(switch_ohm[output]))

    @cached_property
    def _siemens(self) -> Floats:
        tapes = self.affine_tapes
        return np.array([tapes[i].siemens if i in tapes else out.siemens for i, out in enumerate(self.outputs)])

    @cached_property
    def _rated_w(self) -> Floats:
        return np.array([out.rated_w for out in self.outputs])

    def solved(self, switch_ohm: Floats) -> Mapping[StateName, Solved]:
        """The solution in each state."""
        return {state: solve(self.circuit(state, switch_ohm)) for state in STATES}


def in_states(solved: Mapping[StateName, Solved], field: str) -> tuple[InStates, ...]:
    """One figure of the solutions in every state; no voltage below 0 (a load at rated current may ask for more)."""
    figures = np.maximum([getattr(solved[state], field) for state in STATES], 0.0)
    return tuple(InStates(*column) for column in figures.T.tolist())
