"""The points of an output's line diagram, from the supply to the far end of its load."""

from collections.abc import Iterator, Sequence

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
    ends = along.over_states("fed_v")
    cable_a = along.over_states("cable_a")
    found = [
        _point("supply", 0.0, supply_v, node_a),
        _point("node", trunk_m, node_v, output_a),
        _point("behind fuse and switch", trunk_m, switch_v, cable_a),
        _point("load", trunk_m + cable_m, ends, cable_a),
    ]
    if tape is not None and along.rated is not None:
        found += _tape_points(tape, along.rated, along.nominal, trunk_m + cable_m)
    return tuple(found)


def _point(name: str, distance_m: float, volts: InStates, amps: InStates) -> LinePoint:
    return LinePoint(name, distance_m, None, volts.rated, amps.rated, volts.nominal, amps.nominal)


def _tape_points(tape: Tape, rated: Profile, nominal: Profile | None, start_m: float) -> Iterator[LinePoint]:
    """Places along the tape; the distance is from the nearest place where it is fed."""
    places = rated.place_m
    nearest = np.abs(places[:, None] - np.array(tape.points_m)[None, :]).min(axis=1)
    if nominal is None:
        volts = amps = np.zeros(len(places))
    elif len(nominal.place_m) == len(places) and np.array_equal(nominal.place_m, places):
        volts, amps = nominal.volts, nominal.amps
    else:
        order = np.argsort(nominal.place_m, kind="stable")
        volts = np.interp(places, nominal.place_m[order], nominal.volts[order])
        amps = np.interp(places, nominal.place_m[order], nominal.amps[order])
    columns: Sequence[list[float]] = [
        one.tolist()
        for one in (start_m + nearest, places, np.maximum(rated.volts, 0), np.abs(rated.amps), volts, np.abs(amps))
    ]
    for distance_m, place_m, rated_v, rated_a, nominal_v, nominal_a in zip(*columns, strict=True):
        yield LinePoint("tape", distance_m, place_m, rated_v, rated_a, nominal_v, nominal_a)
