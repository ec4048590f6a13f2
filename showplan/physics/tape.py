"""Tape as an even load along a conductor: every metre takes its rated current."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.electrical import SUPPLY_V, not_negative, positive

A_PER_M: Final = not_negative("a_per_m", "A/m", "current of a metre at rated voltage", 10)
OHM_PER_M: Final = positive("ohm_per_m", "Ω/m", "resistance of a metre of tape, there and back", 0.01, 1)
TAPE_M: Final = positive("length_m", "m", "length of the tape", 0.1, 30)
LEAD_OHM: Final = not_negative("lead_ohm", "Ω", "resistance of each lead, there and back", 1, 0)
ENDS: Final = Parameter("ends", "", "ends that are fed: 1 or 2", 1, 1, 2, 1, 2, whole_number=True)

_FIRST_V: Final = positive("first_v", "V", "voltage at the start of the tape", 3, 60)
_SECOND_V: Final = positive("second_v", "V", "voltage at the end of the tape", 3, 60)
_TWO: Final = (_FIRST_V, _SECOND_V, A_PER_M, OHM_PER_M, TAPE_M)
_EVEN: Final = Source("uniformly loaded direct-current distributor", section="textbook quiz page", standing="read")
_DERIVED: Final = Source("uniformly loaded direct-current distributor", standing="derived")
_VALID: Final = "as if every metre took its rated current: an upper bound for the drop, to check the wiring by"


@formula(
    expression="V = i L (R_c + r L / 2)",
    parameters=(A_PER_M, OHM_PER_M, TAPE_M, LEAD_OHM),
    result_unit="V",
    source=_EVEN,
    validity=_VALID,
)
def even_load_drop_v(a_per_m: Numeric, ohm_per_m: Numeric, length_m: Numeric, lead_ohm: Numeric = 0) -> Numeric:
    """Voltage lost at the far end of tape fed at one end, its lead included. Arrays broadcast."""
    length = np.asarray(length_m, float)
    drop: Numeric = np.asarray(a_per_m, float) * length * (lead_ohm + np.asarray(ohm_per_m, float) * length / 2)
    return drop


@formula(
    expression="V = i r L² / 2 · (1 + 1/n)",
    parameters=(A_PER_M, OHM_PER_M, TAPE_M, Parameter("sections", "", "equal loads", None, 1, 1000, 1, 1e6)),
    result_unit="V",
    source=_DERIVED,
    validity="equal loads, each at the end of its section, fed at the start",
)
def sectioned_load_drop_v(a_per_m: Numeric, ohm_per_m: Numeric, length_m: Numeric, sections: Numeric) -> Numeric:
    """Voltage lost at the last of several equal loads along a conductor. Arrays broadcast."""
    return even_load_drop_v(a_per_m, ohm_per_m, length_m) * (1 + 1 / np.asarray(sections, float))


@formula(
    expression="V = i r L² / (8 (N − 1)²)",
    parameters=(A_PER_M, OHM_PER_M, TAPE_M, Parameter("points", "", "feed points", 2, 2, 10, 2, 1e4)),
    result_unit="V",
    source=_EVEN,
    validity=f"points at equal voltage, evenly spaced, both ends among them; {_VALID}",
)
def points_with_ends_drop_v(a_per_m: Numeric, ohm_per_m: Numeric, length_m: Numeric, points: Numeric = 2) -> Numeric:
    """Most voltage lost on tape fed at both ends and at points between. Arrays broadcast."""
    drop: Numeric = even_load_drop_v(a_per_m, ohm_per_m, length_m) / (4 * (np.asarray(points, float) - 1) ** 2)
    return drop


@formula(
    expression="V = i r L² / (8 N²)",
    parameters=(A_PER_M, OHM_PER_M, TAPE_M, Parameter("points", "", "feed points", 1, 1, 10, 1, 1e4)),
    result_unit="V",
    source=_DERIVED,
    validity=f"points at equal voltage, in the middles of N equal parts; {_VALID}",
)
def points_within_drop_v(a_per_m: Numeric, ohm_per_m: Numeric, length_m: Numeric, points: Numeric = 1) -> Numeric:
    """Most voltage lost on tape fed in its middle, or in the middles of equal parts. Arrays broadcast."""
    drop: Numeric = even_load_drop_v(a_per_m, ohm_per_m, length_m) / (4 * np.asarray(points, float) ** 2)
    return drop


@formula(
    expression="I_A = i L / 2 + (V_A − V_B) / (r L)",
    parameters=_TWO,
    result_unit="A",
    source=_DERIVED,
    validity=f"below 0 the end would feed the start; {_VALID}",
)
def two_feeds_first_a(
    first_v: Numeric, second_v: Numeric, a_per_m: Numeric, ohm_per_m: Numeric, length_m: Numeric
) -> Numeric:
    """Current in A that enters at the start of tape fed at both ends. Arrays broadcast."""
    length = np.asarray(length_m, float)
    across_v = np.asarray(first_v, float) - second_v
    first: Numeric = np.asarray(a_per_m, float) * length / 2 + across_v / (np.asarray(ohm_per_m, float) * length)
    return first


@formula(
    expression="x = I_A / i, between 0 and L",
    parameters=(
        _FIRST_V,
        _SECOND_V,
        positive("a_per_m", "A/m", "current of a metre at rated voltage", 0.01, 10),
        OHM_PER_M,
        TAPE_M,
    ),
    result_unit="m",
    source=_DERIVED,
    validity=_VALID,
)
def two_feeds_lowest_m(
    first_v: Numeric, second_v: Numeric, a_per_m: Numeric, ohm_per_m: Numeric, length_m: Numeric
) -> Numeric:
    """Place of the lowest voltage, in m from the start, on tape fed at both ends. Arrays broadcast."""
    place: Numeric = np.clip(
        two_feeds_first_a(first_v, second_v, a_per_m, ohm_per_m, length_m) / np.asarray(a_per_m, float), 0, length_m
    )
    return place


@formula(
    expression="V(x) = V_A − r (I_A x − i x² / 2)",
    parameters=(*_TWO, not_negative("place_m", "m", "place from the start, up to the length", 30)),
    result_unit="V",
    source=_DERIVED,
    validity=_VALID,
)
def two_feeds_place_v(
    first_v: Numeric,
    second_v: Numeric,
    a_per_m: Numeric,
    ohm_per_m: Numeric,
    length_m: Numeric,
    place_m: Numeric,
) -> Numeric:
    """Voltage at a place of tape fed at both ends. Arrays broadcast."""
    place = np.asarray(place_m, float)
    first_a = two_feeds_first_a(first_v, second_v, a_per_m, ohm_per_m, length_m)
    volts: Numeric = first_v - np.asarray(ohm_per_m, float) * (first_a * place - a_per_m * place**2 / 2)
    return volts


@formula(
    expression="L = k √(2 (p / 100) V₀ / (r i)), k = 1 for one end, 2 for both",
    parameters=(
        positive("percent", "%", "share of the supply's voltage that may be lost", 0.5, 20),
        SUPPLY_V,
        positive("a_per_m", "A/m", "current of a metre at rated voltage", 0.01, 10),
        OHM_PER_M,
        ENDS,
    ),
    result_unit="m",
    source=_DERIVED,
    validity=_VALID,
)
def even_load_longest_m(
    percent: Numeric, supply_v: Numeric, a_per_m: Numeric, ohm_per_m: Numeric, ends: Numeric = 1
) -> Numeric:
    """Length of tape in m that loses just so much of the voltage, without its lead. Arrays broadcast."""
    lost_v = np.asarray(percent, float) / 100 * supply_v
    longest: Numeric = ends * np.sqrt(2 * lost_v / (np.asarray(ohm_per_m, float) * a_per_m))
    return longest
