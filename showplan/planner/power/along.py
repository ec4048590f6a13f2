"""An output from where its cables begin to the far end of its load: volts, amperes and light."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from showplan.planner.power.facts import OutputFacts
from showplan.planner.power.power_tape import Collapse, PowerTape
from showplan.planner.power.results import InStates, LightPower
from showplan.planner.power.tape import AffineTape, Profile, SteadyTape


@dataclass(frozen=True)
class Along:
    """A load in the four states: volts at the fed points that get most and least, and at its darkest; amperes of the
    cable that carries most. Profiles of a tape in the worst case and at nominal voltage, None where it has none;
    `mean_v` is over the tape at nominal voltage.
    """

    near_v: InStates
    fed_v: InStates
    far_v: InStates
    cable_a: InStates
    rated: Profile | None
    nominal: Profile | None
    mean_v: float


Tapes = tuple[SteadyTape | None, AffineTape | None, PowerTape | None]


def along_output(volts: InStates, amps: InStates, tapes: Tapes) -> Along:
    """A load with so many volts behind the output's switch (of a load at one place: at the load itself).

    Of the three tapes those that apply: at rated current, following the voltage, at constant power.
    """
    steady, affine, powered = tapes
    if steady is None:
        return Along(volts, volts, volts, amps, None, None, volts.nominal)
    near_v, fed_v, least_v = -min(steady.drops_v), -max(steady.drops_v), steady.profile.least_v
    cable_a = max(steady.cable_a)
    rated = steady.profile.between(volts.rated, 1.0)
    as_rated = (volts.rated + near_v, volts.rated + fed_v, volts.rated + least_v, cable_a)
    if affine is not None:
        return _affine(affine, volts, rated, as_rated)
    if powered is not None:
        return _powered(powered, volts, amps, rated, as_rated)
    nominal = steady.profile.between(volts.nominal, 1.0)
    return Along(
        near_v=_shifted(volts, near_v),
        fed_v=_shifted(volts, fed_v),
        far_v=_shifted(volts, least_v),
        cable_a=InStates(cable_a, cable_a, cable_a, cable_a),
        rated=rated,
        nominal=nominal,
        mean_v=sum(nominal.volts) / len(nominal.volts),
    )


Rated = tuple[float, float, float, float]


def _shifted(volts: InStates, by_v: float) -> InStates:
    return volts.mapped(lambda v: max(v + by_v, 0.0))


def _affine(tape: AffineTape, volts: InStates, rated: Profile, as_rated: Rated) -> Along:
    """Everything above the threshold scales alike; below it the tape is dark and takes nothing."""
    u, into = tape.at_points
    dark_v = tape.threshold_v

    def with_share(share: float, rated_v: float) -> InStates:
        def one(v: float) -> float:
            return dark_v + share * (v - dark_v) if v > dark_v else v

        return InStates(max(rated_v, 0.0), one(volts.full), one(volts.nominal), one(volts.empty))

    def current(v: float) -> float:
        return max(into) * max(v - dark_v, 0.0)

    above = max(volts.nominal - dark_v, 0.0)
    base_v = volts.nominal - above
    return Along(
        near_v=with_share(max(u), as_rated[0]),
        fed_v=with_share(min(u), as_rated[1]),
        far_v=with_share(tape.profile.least_v, as_rated[2]),
        cable_a=InStates(as_rated[3], current(volts.full), current(volts.nominal), current(volts.empty)),
        rated=rated,
        nominal=tape.profile.between(base_v, above) if above > 0 else _dark(tape.profile, base_v),
        mean_v=base_v + above * tape.mean,
    )


def _dark(profile: Profile, volts: float) -> Profile:
    nothing = tuple(0.0 for _ in profile.place_m)
    return Profile(profile.place_m, tuple(volts for _ in nothing), nothing, volts)


def _powered(tape: PowerTape, volts: InStates, amps: InStates, rated: Profile, as_rated: Rated) -> Along:
    """Each state by itself; what has collapsed is off and shows the volts it would get."""
    behind_switch = replace(tape, series_ohm=0.0)
    rows, profiles = [as_rated], []
    for v, a in ((volts.full, amps.full), (volts.nominal, amps.nominal), (volts.empty, amps.empty)):
        try:
            profile = behind_switch.profile(v) if a > 0 else None
        except Collapse:
            profile = None
        profiles.append(profile)
        if profile is None:
            rows.append((v, v, v, 0.0))
            continue
        fed = [_at(profile, place) for place in tape.tape.points_m]
        cable_a = (v - min(fed)) / tape.tape.cable_ohm if tape.tape.cable_ohm > 0 else a
        rows.append((max(fed), min(fed), profile.least_v, min(cable_a, a)))
    near, fed_v, far, cable = (InStates(*(max(v, 0.0) for v in column)) for column in zip(*rows, strict=True))
    nominal = profiles[1]
    mean_v = sum(nominal.volts) / len(nominal.volts) if nominal is not None else volts.nominal
    return Along(near, fed_v, far, cable, rated, nominal, mean_v)


def _at(profile: Profile, place_m: float) -> float:
    distances = [abs(place - place_m) for place in profile.place_m]
    return profile.volts[distances.index(min(distances))]


def light_of(out: OutputFacts, along: Along, *, has_collapsed: bool) -> LightPower:
    """Light beside that at rated voltage. A resistive load's light counts as its power."""
    if out.behaviour == "constant-power":
        lit = 0.0 if has_collapsed else 1.0
        return LightPower(lit, lit, lit, lit)
    light = _light(out)
    mean = light(along.mean_v)
    if out.behaviour == "constant-current" and along.nominal is not None:
        mean = sum(volts > out.dark_v for volts in along.nominal.volts) / len(along.nominal.volts)
    return LightPower(light(along.near_v.nominal), light(along.far_v.nominal), mean, light(along.far_v.empty))


def _light(out: OutputFacts) -> Callable[[float], float]:
    """Light beside the rated one, from volts."""
    rated_v, dark_v = out.load.rated_v, out.dark_v
    match out.behaviour:
        case "led-string":
            return lambda volts: max(volts - dark_v, 0.0) / (rated_v - dark_v)
        case "resistive":
            return lambda volts: (volts / rated_v) ** 2
        case _:
            return lambda volts: float(volts > dark_v)
