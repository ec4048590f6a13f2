"""Tape of LED strings, whose current follows the voltage above a threshold; without one a resistive load."""

from typing import Any, Final

import numpy as np
import numpy.typing as npt

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.division import ratio
from showplan.physics.electrical import SUPPLY_V, not_negative, positive, positive_share
from showplan.physics.tape import A_PER_M, ENDS, LEAD_OHM, OHM_PER_M, TAPE_M

_Floats = npt.NDArray[np.floating[Any]]
_SOME_A_PER_M: Final = positive("a_per_m", "A/m", "current of a metre at rated voltage", 0.01, 10)
_RATED_V: Final = positive("rated_v", "V", "rated voltage, above the threshold", 3, 60)
_THRESHOLD_V: Final = not_negative("threshold_v", "V", "voltage below which no current flows; 0: resistive", 50)
_TAPE: Final = (SUPPLY_V, _SOME_A_PER_M, OHM_PER_M, TAPE_M, _RATED_V, _THRESHOLD_V, LEAD_OHM, ENDS)
_LINE: Final = Source("u″ = b² u, u = V − V_d, b² = r i / (V₀ − V_d)", standing="derived")
_VALID: Final = (
    "current linear above the threshold, some 9 V for 12 V tape and 18 V for 24 V tape (from memory); real LEDs are"
    " rounder: their current falls a little less along the tape; both ends at like voltage through like leads"
)


def _siemens_per_m(a_per_m: Numeric, rated_v: Numeric, threshold_v: Numeric) -> _Floats:
    """Not a number where the threshold is not below the rated voltage."""
    above_v = np.asarray(rated_v, float) - threshold_v
    siemens: _Floats = np.asarray(ratio(a_per_m, np.where(above_v > 0, above_v, 0)))
    return siemens


def _sech(x: _Floats) -> _Floats:
    small = np.exp(-x)
    share: _Floats = 2 * small / (1 + small**2)
    return share


def _span(ohm_per_m: Numeric, length_m: Numeric, siemens_per_m: _Floats, ends: Numeric) -> tuple[_Floats, _Floats]:
    """Attenuation of the part that one end feeds, and its admittance in siemens."""
    ohm = np.asarray(ohm_per_m, float)
    through = np.sqrt(ohm * siemens_per_m) * np.asarray(length_m, float) / ends
    return through, np.sqrt(siemens_per_m / ohm) * np.tanh(through)


@formula(
    expression="i′ = i (V − V_d) / (V₀ − V_d), 0 below V_d, over i",
    parameters=(positive("place_v", "V", "voltage at the place", 3, 60), _RATED_V, _THRESHOLD_V),
    result_unit="",
    source=_LINE,
    validity="light taken as proportional to current; above 1 the LEDs get more than they are rated for",
)
def string_light(place_v: Numeric, rated_v: Numeric, threshold_v: Numeric) -> Numeric:
    """Light of LED strings at a voltage over that at the rated one. Arrays broadcast."""
    above = np.maximum(np.asarray(place_v, float) - threshold_v, 0)
    rated_above = np.asarray(rated_v, float) - threshold_v
    light: Numeric = ratio(above, np.where(rated_above > 0, rated_above, 0))
    return light


@formula(
    expression="b = √(r i / (V₀ − V_d))",
    parameters=(A_PER_M, OHM_PER_M, _RATED_V, _THRESHOLD_V),
    result_unit="1/m",
    source=_LINE,
    validity=_VALID,
)
def string_tape_decay_per_m(a_per_m: Numeric, ohm_per_m: Numeric, rated_v: Numeric, threshold_v: Numeric) -> Numeric:
    """How fast the voltage above the threshold falls along an endless tape. Arrays broadcast."""
    decay: Numeric = np.sqrt(np.asarray(ohm_per_m, float) * _siemens_per_m(a_per_m, rated_v, threshold_v))
    return decay


@formula(
    expression="V = V_d + (V_s − V_d) / (1 + R_c √(g/r) tanh(b L))",
    parameters=_TAPE,
    result_unit="V",
    source=_LINE,
    validity=_VALID,
)
def string_tape_input_v(
    supply_v: Numeric,
    a_per_m: Numeric,
    ohm_per_m: Numeric,
    length_m: Numeric,
    rated_v: Numeric,
    threshold_v: Numeric,
    lead_ohm: Numeric = 0,
    ends: Numeric = 1,
) -> Numeric:
    """Voltage where the lead meets the tape. Arrays broadcast."""
    supply = np.asarray(supply_v, float)
    _, siemens = _span(ohm_per_m, length_m, _siemens_per_m(a_per_m, rated_v, threshold_v), ends)
    lit_v = threshold_v + (supply - threshold_v) / (1 + lead_ohm * siemens)
    volts: Numeric = np.where(supply > threshold_v, lit_v, supply)[()]
    return volts


@formula(
    expression="V = V_d + (V_in − V_d) / cosh(b L); from both ends in the middle, L/2 for L",
    parameters=_TAPE,
    result_unit="V",
    source=_LINE,
    validity=_VALID,
)
def string_tape_far_v(
    supply_v: Numeric,
    a_per_m: Numeric,
    ohm_per_m: Numeric,
    length_m: Numeric,
    rated_v: Numeric,
    threshold_v: Numeric,
    lead_ohm: Numeric = 0,
    ends: Numeric = 1,
) -> Numeric:
    """Lowest voltage on tape fed at one end or at both. Arrays broadcast."""
    siemens_per_m = _siemens_per_m(a_per_m, rated_v, threshold_v)
    through, siemens = _span(ohm_per_m, length_m, siemens_per_m, ends)
    supply = np.asarray(supply_v, float)
    lit_v = threshold_v + (supply - threshold_v) / (1 + lead_ohm * siemens) * _sech(through)
    volts: Numeric = np.where(supply > threshold_v, lit_v, supply)[()]
    return volts


@formula(
    expression="I = (V_in − V_d) √(g/r) tanh(b L); from both ends twice that of half the length",
    parameters=_TAPE,
    result_unit="A",
    source=_LINE,
    validity=_VALID,
)
def string_tape_current_a(
    supply_v: Numeric,
    a_per_m: Numeric,
    ohm_per_m: Numeric,
    length_m: Numeric,
    rated_v: Numeric,
    threshold_v: Numeric,
    lead_ohm: Numeric = 0,
    ends: Numeric = 1,
) -> Numeric:
    """Current in A that the whole tape takes. Arrays broadcast."""
    _, siemens = _span(ohm_per_m, length_m, _siemens_per_m(a_per_m, rated_v, threshold_v), ends)
    above_v = np.maximum(np.asarray(supply_v, float) - threshold_v, 0)
    current: Numeric = ends * above_v * siemens / (1 + lead_ohm * siemens)
    return current


@formula(
    expression="light = (V_far − V_d) / (V₀ − V_d)",
    parameters=_TAPE,
    result_unit="",
    source=_LINE,
    validity=f"light taken as proportional to current; {_VALID}",
)
def string_tape_far_light(
    supply_v: Numeric,
    a_per_m: Numeric,
    ohm_per_m: Numeric,
    length_m: Numeric,
    rated_v: Numeric,
    threshold_v: Numeric,
    lead_ohm: Numeric = 0,
    ends: Numeric = 1,
) -> Numeric:
    """Least light on the tape over that at rated voltage. Arrays broadcast."""
    far_v = string_tape_far_v(supply_v, a_per_m, ohm_per_m, length_m, rated_v, threshold_v, lead_ohm, ends)
    return string_light(far_v, rated_v, threshold_v)


@formula(
    expression="light = I / (i L)",
    parameters=_TAPE,
    result_unit="",
    source=_LINE,
    validity=f"light taken as proportional to current; {_VALID}",
)
def string_tape_mean_light(
    supply_v: Numeric,
    a_per_m: Numeric,
    ohm_per_m: Numeric,
    length_m: Numeric,
    rated_v: Numeric,
    threshold_v: Numeric,
    lead_ohm: Numeric = 0,
    ends: Numeric = 1,
) -> Numeric:
    """Mean light of the tape over that at rated voltage. Arrays broadcast."""
    taken_a = string_tape_current_a(supply_v, a_per_m, ohm_per_m, length_m, rated_v, threshold_v, lead_ohm, ends)
    return taken_a / (np.asarray(a_per_m, float) * length_m)


@formula(
    expression="u(x) = (u_A sinh(b (L − x)) + u_B sinh(b x)) / sinh(b L)",
    parameters=(
        positive("first_v", "V", "voltage at the start, not below the threshold", 3, 60),
        positive("second_v", "V", "voltage at the end, not below the threshold", 3, 60),
        _SOME_A_PER_M,
        OHM_PER_M,
        TAPE_M,
        _RATED_V,
        _THRESHOLD_V,
        not_negative("place_m", "m", "place from the start, up to the length", 30),
    ),
    result_unit="V",
    source=_LINE,
    validity="current linear above the threshold; end voltages may differ",
)
def string_tape_place_v(
    first_v: Numeric,
    second_v: Numeric,
    a_per_m: Numeric,
    ohm_per_m: Numeric,
    length_m: Numeric,
    rated_v: Numeric,
    threshold_v: Numeric,
    place_m: Numeric,
) -> Numeric:
    """Voltage at a place of tape whose end voltages are known. Arrays broadcast."""
    decay = string_tape_decay_per_m(a_per_m, ohm_per_m, rated_v, threshold_v)
    through, here = decay * np.asarray(length_m, float), decay * np.asarray(place_m, float)
    # sinh(y) / sinh(z) for y <= z without overflow
    near, far = (
        np.exp(part - through) * np.expm1(-2 * part) / np.expm1(-2 * through) for part in (through - here, here)
    )
    above_v = (np.asarray(first_v, float) - threshold_v) * near + (np.asarray(second_v, float) - threshold_v) * far
    volts: Numeric = threshold_v + above_v
    return volts


@formula(
    expression="L = k arcosh(1 / light) / b, k = 1 for one end, 2 for both",
    parameters=(
        positive_share("least_light", "least light wanted over that at the near end"),
        _SOME_A_PER_M,
        OHM_PER_M,
        _RATED_V,
        _THRESHOLD_V,
        ENDS,
    ),
    result_unit="m",
    source=_LINE,
    validity=_VALID,
)
def string_tape_longest_m(
    least_light: Numeric,
    a_per_m: Numeric,
    ohm_per_m: Numeric,
    rated_v: Numeric,
    threshold_v: Numeric,
    ends: Numeric = 1,
) -> Numeric:
    """Length in m whose darkest place has just that share of the light where it is fed. Arrays broadcast."""
    decay = string_tape_decay_per_m(a_per_m, ohm_per_m, rated_v, threshold_v)
    longest: Numeric = ends * np.arccosh(1 / np.asarray(least_light, float)) / decay
    return longest


@formula(
    expression="p = V I n / k",
    parameters=(
        _RATED_V,
        positive("string_ma", "mA", "current of a string: 20 small LEDs, 60 those of three chips", 5, 100),
        positive("leds_per_m", "1/m", "LEDs of a metre", 30, 240),
        Parameter("leds_per_string", "", "LEDs in series: 3 on 12 V, 6 on 24 V", 3, 1, 14, 1, 100, whole_number=True),
    ),
    result_unit="W/m",
    source=Source("seller's page on LED tape", section="worked example", standing="read"),
    validity="all LEDs on, at rated voltage; resistors included",
)
def strings_w_per_m(rated_v: Numeric, string_ma: Numeric, leds_per_m: Numeric, leds_per_string: Numeric = 3) -> Numeric:
    """Power of a metre of LED tape by its strings. Numbers or arrays that broadcast."""
    strings_per_m = np.asarray(leds_per_m, float) / leds_per_string
    power: Numeric = np.asarray(rated_v, float) * np.asarray(string_ma, float) / 1000 * strings_per_m
    return power
