"""Tape of constant power, with converters of its own: the lower the voltage, the more current."""

from typing import Any, Final

import numpy as np
import numpy.typing as npt
from scipy.special import dawsn

from showplan.physics.catalogue import Numeric, Source, formula
from showplan.physics.electrical import SUPPLY_V, positive
from showplan.physics.tape import ENDS, LEAD_OHM, OHM_PER_M, TAPE_M

_Floats = npt.NDArray[np.floating[Any]]
_HALVINGS: Final = 60
_CRITICAL: Final = 0.9241388730  # where Dawson's integral is largest
_W_PER_M: Final = positive("w_per_m", "W/m", "power of a metre", 0.1, 50)
_TAPE: Final = (SUPPLY_V, _W_PER_M, OHM_PER_M, TAPE_M, LEAD_OHM, ENDS)
_LINE: Final = Source("V V″ = r p, integrated by Dawson's integral D", standing="derived")
_VALID: Final = (
    "the solution of highest voltage; none, where the line cannot carry the power; both ends at like voltage through"
    " like leads"
)


def _solved(
    supply_v: Numeric, w_per_m: Numeric, ohm_per_m: Numeric, length_m: Numeric, lead_ohm: Numeric, ends: Numeric
) -> tuple[_Floats, _Floats, _Floats]:
    """(voltage where it is fed, lowest voltage, current in one end); nan without a solution.

    With s = sqrt(ln(V_in / V_far)): D(s) = l sqrt(r p / 2) / V_in and I = s sqrt(2 p / r), l being what one end feeds.
    """
    supply, watts, ohm, length, lead, fed = np.broadcast_arrays(
        *(np.asarray(one, float) for one in (supply_v, w_per_m, ohm_per_m, length_m, lead_ohm, ends))
    )
    scale_v = length / fed * np.sqrt(ohm * watts / 2)
    scale_a = np.sqrt(2 * watts / ohm)

    def needed_v(s: _Floats) -> _Floats:
        volts: _Floats = scale_v / dawsn(s) + lead * scale_a * s
        return volts

    # needed_v falls to its least and rises again; the solution of highest voltage lies on the falling side
    low, high = np.zeros_like(supply), np.full_like(supply, _CRITICAL)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        dawson = dawsn(middle)
        falls = scale_v * (1 - 2 * middle * dawson) > lead * scale_a * dawson**2
        low, high = np.where(falls, middle, low), np.where(falls, high, middle)
    least = (low + high) / 2
    carries = needed_v(least) <= supply
    low, high = np.zeros_like(supply), least
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        too_much = needed_v(middle) > supply
        low, high = np.where(too_much, middle, low), np.where(too_much, high, middle)
    s = np.where(carries, (low + high) / 2, np.nan)
    input_v = supply - lead * scale_a * s
    return input_v, input_v * np.exp(-(s**2)), scale_a * s


@formula(
    expression="V = V_in e^(−s²), D(s) = L √(r p / 2) / V_in",
    parameters=_TAPE,
    result_unit="V",
    source=_LINE,
    validity=_VALID,
)
def power_tape_far_v(
    supply_v: Numeric,
    w_per_m: Numeric,
    ohm_per_m: Numeric,
    length_m: Numeric,
    lead_ohm: Numeric = 0,
    ends: Numeric = 1,
) -> Numeric:
    """Lowest voltage on tape of constant power; not a number where there is no solution. Arrays broadcast."""
    volts: Numeric = _solved(supply_v, w_per_m, ohm_per_m, length_m, lead_ohm, ends)[1][()]
    return volts


@formula(
    expression="I = s √(2 p / r), from both ends twice that",
    parameters=_TAPE,
    result_unit="A",
    source=_LINE,
    validity=_VALID,
)
def power_tape_current_a(
    supply_v: Numeric,
    w_per_m: Numeric,
    ohm_per_m: Numeric,
    length_m: Numeric,
    lead_ohm: Numeric = 0,
    ends: Numeric = 1,
) -> Numeric:
    """Current in A that tape of constant power takes; not a number without a solution. Arrays broadcast."""
    current: Numeric = ends * _solved(supply_v, w_per_m, ohm_per_m, length_m, lead_ohm, ends)[2][()]
    return current


@formula(
    expression="L = k 0.5410 V √(2 / (r p)), k = 1 for one end, 2 for both",
    parameters=(SUPPLY_V, _W_PER_M, OHM_PER_M, ENDS),
    result_unit="m",
    source=_LINE,
    validity="no lead; at this length the far end has 43 % of the voltage; stay well below it",
)
def power_tape_longest_m(supply_v: Numeric, w_per_m: Numeric, ohm_per_m: Numeric, ends: Numeric = 1) -> Numeric:
    """Length in m above which tape of constant power cannot be fed. Arrays broadcast."""
    reach = np.sqrt(2 / (np.asarray(ohm_per_m, float) * w_per_m))
    longest: Numeric = ends * float(dawsn(_CRITICAL)) * np.asarray(supply_v, float) * reach
    return longest
