"""Fuses: their rating by the load, by the conductor they protect, and what pulses they bear."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.electrical import CURRENT_A, not_negative, positive, positive_share

CONDUCTOR_TIMES: Final = 1.45  # no unit, I_2 <= 1.45 I_z, IEC 60364-4-43 433.1, from memory

_OPENS_TIMES: Final = Parameter("opens_times", "", "times its rating at which the fuse surely opens", None, 1, 3, 1, 10)
_CONDUCTOR: Final = Source("IEC 60364-4-43", section="433.1, from memory")
_GUIDE: Final = Source("fuse maker's guide", section="selection and pulses, read on web pages", standing="read")
_CONDUCTOR_VALID: Final = "1.35 times for UL and blade fuses, 2.1 for IEC 60127 ones: see the table of fuses"
_A2S: Final = positive("pulse_a2s", "A²s", "heat of the pulse over resistance", 1e-4, 1e4)


@formula(
    expression="I_n = I / s",
    parameters=(CURRENT_A, positive_share("continuous_share", "share of its rating that it carries for long", 0.75)),
    result_unit="A",
    source=_GUIDE,
    validity="75 % for UL and blade fuses near 25 °C; another page has 80 %",
)
def fuse_wanted_a(current_a: Numeric, continuous_share: Numeric = 0.75) -> Numeric:
    """Least rating in A of a fuse that carries a current for long. Numbers or arrays that broadcast."""
    rating: Numeric = np.asarray(current_a, float) / continuous_share
    return rating


@formula(
    expression="I_n = min(I_z, 1.45 I_z / k)",
    parameters=(not_negative("ampacity_a", "A", "current that the conductor carries", 100), _OPENS_TIMES),
    result_unit="A",
    source=_CONDUCTOR,
    validity=_CONDUCTOR_VALID,
)
def largest_fuse_a(ampacity_a: Numeric, opens_times: Numeric) -> Numeric:
    """Largest rating in A of a fuse that protects a conductor against overload. Arrays broadcast."""
    rating: Numeric = np.asarray(ampacity_a, float) * np.minimum(1, CONDUCTOR_TIMES / np.asarray(opens_times, float))
    return rating


@formula(
    expression="I_z = max(I_n, k I_n / 1.45)",
    parameters=(positive("fuse_a", "A", "rating of the fuse", 0.1, 100), _OPENS_TIMES),
    result_unit="A",
    source=_CONDUCTOR,
    validity=_CONDUCTOR_VALID,
)
def least_ampacity_a(fuse_a: Numeric, opens_times: Numeric) -> Numeric:
    """Current in A that a conductor must carry for a fuse to protect it. Numbers or arrays that broadcast."""
    least: Numeric = np.asarray(fuse_a, float) * np.maximum(1, np.asarray(opens_times, float) / CONDUCTOR_TIMES)
    return least


@formula(
    expression="I²t = f i² t; f = 1 square, 1/2 half sine, 1/3 triangle, 1/5 for i = k t²",
    parameters=(
        positive("peak_a", "A", "peak of the pulse", 0.1, 1000),
        positive("duration_s", "s", "duration of the pulse", 1e-6, 10),
        positive_share("shape_share", "1, 1/2, 1/3 or 1/5 by the pulse's shape", 1),
    ),
    result_unit="A²s",
    source=_GUIDE,
    validity="one pulse, shorter than the fuse needs to lose heat (some 10 ms)",
)
def pulse_a2s(peak_a: Numeric, duration_s: Numeric, shape_share: Numeric = 1) -> Numeric:
    """I²t of a pulse by its peak, duration and shape. Numbers or arrays that broadcast."""
    heat: Numeric = np.asarray(peak_a, float) ** 2 * np.asarray(duration_s, float) * shape_share
    return heat


@formula(
    expression="I²t = i² τ / 2",
    parameters=(
        positive("peak_a", "A", "peak of the pulse", 0.1, 1000),
        positive("time_constant_s", "s", "time in which it falls to 37 %", 1e-6, 10),
    ),
    result_unit="A²s",
    source=_GUIDE,
    validity="one pulse that dies away exponentially",
)
def decaying_pulse_a2s(peak_a: Numeric, time_constant_s: Numeric) -> Numeric:
    """I²t of a pulse that dies away exponentially. Numbers or arrays that broadcast."""
    heat: Numeric = np.asarray(peak_a, float) ** 2 * np.asarray(time_constant_s, float) / 2
    return heat


@formula(
    expression="I²t = I²t_pulse / s",
    parameters=(_A2S, positive_share("borne_share", "share of its melting I²t that the fuse bears so often", 0.22)),
    result_unit="A²s",
    source=_GUIDE,
    validity="22 % for 100 000 pulses, 10 s and more apart: see the table of pulse life",
)
def melting_wanted_a2s(pulse_a2s: Numeric, borne_share: Numeric = 0.22) -> Numeric:
    """Least nominal melting I²t of a fuse that bears a pulse many times. Numbers or arrays that broadcast."""
    least: Numeric = np.asarray(pulse_a2s, float) / borne_share
    return least


@formula(
    expression="I = V / R",
    parameters=(
        positive("supply_v", "V", "open-circuit voltage", 3, 60),
        positive("loop_ohm", "Ω", "resistance of battery, fuse and leads to the fault", 0.005, 10),
    ),
    result_unit="A",
    source=Source("Ohm's law", standing="derived"),
    validity="what the fuse must be able to break; a converter or mains supply limits its own current",
)
def short_circuit_a(supply_v: Numeric, loop_ohm: Numeric) -> Numeric:
    """Current in A into a short circuit. Numbers or arrays that broadcast."""
    current: Numeric = np.asarray(supply_v, float) / np.asarray(loop_ohm, float)
    return current
