"""The points of an output's line diagram, from the supply to the far end of its load."""

from collections.abc import Iterator

import numpy as np

from showplan.planner.power.along import Along
from showplan.planner.power.results import InStates, LinePoint
from showplan.planner.power.tape import Profile, Tape


def points_of(
    *,
    supply_v: InStates,
    node_v: InStates,
    switch_v: InStates,
    node_a: InStates,
    output_a: InStates,
    trunk_m: float,
    cable_m: float,
    along: Along,
    tape: Tape | None,
) -> tuple[LinePoint, ...]:
    """Supply, node, behind fuse and switch, load, and places along a tape."""
    found = [
        _point("supply", 0.0, supply_v, node_a),
        _point("node", trunk_m, node_v, output_a),
        _point("behind fuse and switch", trunk_m, switch_v, along.cable_a),
        _point("load", trunk_m + cable_m, along.fed_v, along.cable_a),
    ]
    if tape is not None and along.rated is not None:
        found += _tape_points(tape, along.rated, along.nominal, trunk_m + cable_m)
    return tuple(found)


def _point(name: str, distance_m: float, volts: InStates, amps: InStates) -> LinePoint:
    return LinePoint(name, distance_m, None, volts.rated, amps.rated, volts.nominal, amps.nominal)


def _tape_points(tape: Tape, rated: Profile, nominal: Profile | None, start_m: float) -> Iterator[LinePoint]:
    """Places along the tape; the distance is from the nearest place where it is fed."""
    if nominal is None:
        volts = amps = (0.0,) * len(rated.place_m)
    elif nominal.place_m == rated.place_m:
        volts, amps = nominal.volts, nominal.amps
    else:
        volts = tuple(np.interp(rated.place_m, nominal.place_m, nominal.volts).tolist())
        amps = tuple(np.interp(rated.place_m, nominal.place_m, nominal.amps).tolist())
    for place_m, rated_v, rated_a, nominal_v, nominal_a in zip(
        rated.place_m, rated.volts, rated.amps, volts, amps, strict=True
    ):
        nearest_m = min(abs(place_m - point_m) for point_m in tape.points_m)
        yield LinePoint(
            "tape", start_m + nearest_m, place_m, max(rated_v, 0.0), abs(rated_a), nominal_v, abs(nominal_a)
        )
