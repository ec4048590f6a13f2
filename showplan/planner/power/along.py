"""An output from where its cables begin to the far end of its load: volts, amperes and light."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from showplan.planner.power.circuit import Solved
from showplan.planner.power.facts import OutputFacts
from showplan.planner.power.power_tape import Collapse, PowerTape
from showplan.planner.power.results import InStates, LightPower, StateName
from showplan.planner.power.tape import AffineTape, Profile, SteadyTape

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Ends:
    """Of a load in one state: volts at the fed points that get most and least, and at its darkest; amperes of the cable
    that carries most."""

    near_v: float
    fed_v: float
    far_v: float
    cable_a: float


@dataclass(frozen=True)
class Along:
    """A load in the four states, with its tape's profile in the worst case and at nominal voltage."""

    ends: Mapping[StateName, Ends]
    rated: Profile | None
    nominal: Profile | None
    mean_v: float  # over the tape at nominal voltage

    def over_states(self, field: str) -> InStates:
        """One figure of the ends in every state, no voltage below 0."""
        return InStates(**{state: max(float(getattr(one, field)), 0.0) for state, one in self.ends.items()})


def along_output(
    out: OutputFacts,
    at: int,
    solved: Mapping[StateName, Solved],
    steady: SteadyTape | None,
    affine: AffineTape | None,
    powered: PowerTape | None,
) -> Along:
    """The load of output `at` in the solutions; of the three tapes those that apply."""
    volts = {state: float(one.output_v[at]) for state, one in solved.items()}
    amps = {state: float(one.output_a[at]) for state, one in solved.items()}
    if steady is None:
        return Along({state: Ends(v, v, v, amps[state]) for state, v in volts.items()}, None, None, volts["nominal"])
    drops = steady.drops_v()
    rated = steady.profile(volts["rated"])
    most = float(drops.max() / steady.tape.cable_ohm) if steady.tape.cable_ohm > 0 else out.rated_a
    below = volts["rated"] - rated.least_v
    as_rated = Ends(
        volts["rated"] - float(drops.min()), volts["rated"] - float(drops.max()), rated.least_v, min(most, out.rated_a)
    )
    ends = {"rated": as_rated}
    if affine is not None:
        nominal, mean_v = _affine(affine, volts, ends)
    elif powered is not None:
        nominal = _powered(replace(powered, series_ohm=0.0), volts, amps, ends)
        mean_v = float(nominal.volts.mean()) if nominal is not None else volts["nominal"]
    else:
        for state in ("full", "nominal", "empty"):
            v = volts[state]
            ends[state] = Ends(v - float(drops.min()), v - float(drops.max()), v - below, as_rated.cable_a)
        nominal = replace(rated, volts=rated.volts + volts["nominal"] - volts["rated"])
        mean_v = float(nominal.volts.mean())
    return Along(ends, rated, nominal, mean_v)


def _affine(tape: AffineTape, volts: Mapping[StateName, float], ends: dict[str, Ends]) -> tuple[Profile, float]:
    """Ends in the other states: everything above the threshold scales alike."""
    dark_v = tape.threshold_v
    unit = tape.profile(dark_v + 1.0)
    u, into = tape.points()
    lowest = unit.least_v - dark_v
    for state in ("full", "nominal", "empty"):
        above = max(volts[state] - dark_v, 0.0)
        base = volts[state] - above
        ends[state] = Ends(
            base + above * float(u.max()),
            base + above * float(u.min()),
            base + above * lowest,
            above * float(into.max()),
        )
    above = max(volts["nominal"] - dark_v, 0.0)
    base = volts["nominal"] - above
    profile = Profile(unit.place_m, base + above * (unit.volts - dark_v), above * unit.amps, base + above * lowest)
    return profile, base + above * tape.mean_above()


def _powered(
    tape: PowerTape, volts: Mapping[StateName, float], amps: Mapping[StateName, float], ends: dict[str, Ends]
) -> Profile | None:
    """Ends in the other states, at the terminal's volts."""
    found = None
    for state in ("full", "nominal", "empty"):
        try:
            profile = tape.profile(volts[state])
        except Collapse:
            profile = None
        if profile is None or amps[state] <= 0:
            ends[state] = Ends(volts[state], volts[state], volts[state], 0.0)
            continue
        fed = profile.volts[[int(np.abs(profile.place_m - x).argmin()) for x in tape.tape.points_m]]
        cable_a = float((volts[state] - fed.min()) / tape.tape.cable_ohm) if tape.tape.cable_ohm > 0 else amps[state]
        ends[state] = Ends(float(fed.max()), float(fed.min()), profile.least_v, min(cable_a, amps[state]))
        if state == "nominal":
            found = profile
    return found


def light_of(out: OutputFacts, along: Along, *, has_collapsed: bool) -> LightPower:
    """Light beside that at rated voltage. A resistive load's light counts as its power."""
    if out.behaviour == "constant-power":
        lit = 0.0 if has_collapsed else 1.0
        return LightPower(lit, lit, lit, lit)
    nominal, empty = along.ends["nominal"], along.ends["empty"]
    mean = _light(out, along.mean_v)
    if out.behaviour == "constant-current" and along.nominal is not None:
        mean = float(np.mean(along.nominal.volts > out.dark_v))
    return LightPower(_light(out, nominal.near_v), _light(out, nominal.far_v), mean, _light(out, empty.far_v))


def _light(out: OutputFacts, volts: float) -> float:
    match out.behaviour:
        case "led-string":
            return max(volts - out.dark_v, 0.0) / (out.load.rated_v - out.dark_v)
        case "resistive":
            return (max(volts, 0.0) / out.load.rated_v) ** 2
        case _:
            return float(volts > out.dark_v)
