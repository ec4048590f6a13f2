"""The transistor of an output: its losses, how warm it gets, and whether it is fully on."""

from typing import Any, Final

import numpy as np
import numpy.typing as npt

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.division import ratio
from showplan.physics.electrical import AMBIENT_C, CURRENT_A, DUTY, SUPPLY_V, not_negative, positive

_Floats = npt.NDArray[np.floating[Any]]
_MOHM: Final = positive("on_mohm_at_25_c", "mΩ", "resistance when on, junction at 25 °C", 1, 1000)
_K_PER_W: Final = positive("k_per_w", "K/W", "thermal resistance from junction to air", 10, 200)
_EXTRA_W: Final = not_negative("switching_w", "W", "switching loss", 20, 0)
_PER_K: Final = Parameter("growth_per_k", "1/K", "growth of its resistance over that at 25 °C", 0.0075, 0, 0.02, 0, 0.1)
_HEAT: Final = (CURRENT_A, _MOHM, _K_PER_W, AMBIENT_C, DUTY, _EXTRA_W, _PER_K)
_EDGE_US: Final = not_negative("edge_us", "µs", "rise and fall time of the edges, added up", 200)
_HZ: Final = not_negative("switching_hz", "Hz", "frequency of dimming", 50_000)
_LOSS: Final = Source("maker's page on junction temperature of a MOSFET", section="worked example", standing="read")
_WARM: Final = Source("resistance linear in the junction temperature, heat balance", standing="derived")
_WARM_VALID: Final = (
    "0.0075 /K is the steeper of two data sheets (1.75 times at 125 °C; another 1.38 times at 100 °C); thermal"
    " resistance as mounted: a small package on little copper has 62 to 125 K/W"
)


@formula(
    expression="P = I² R D",
    parameters=(CURRENT_A, positive("on_mohm", "mΩ", "resistance when on, as warm as it is", 1, 1000), DUTY),
    result_unit="W",
    source=_LOSS,
    validity="I is the current while it is on",
)
def conduction_w(current_a: Numeric, on_mohm: Numeric, duty: Numeric) -> Numeric:
    """Heat in W of a transistor that is on for a share of the time. Numbers or arrays that broadcast."""
    watts: Numeric = np.asarray(current_a, float) ** 2 * np.asarray(on_mohm, float) / 1000 * duty
    return watts


@formula(
    expression="P = V I (t_r + t_f) f / 2",
    parameters=(SUPPLY_V, CURRENT_A, _EDGE_US, _HZ),
    result_unit="W",
    source=_LOSS,
    validity="clamped inductive load; three times too much for a resistive one, so on the safe side",
)
def switching_w(supply_v: Numeric, current_a: Numeric, edge_us: Numeric, switching_hz: Numeric) -> Numeric:
    """Switching loss in W, estimated high. Numbers or arrays that broadcast."""
    energy_j = np.asarray(supply_v, float) * current_a * np.asarray(edge_us, float) * 1e-6 / 2
    watts: Numeric = energy_j * switching_hz
    return watts


@formula(
    expression="P = V I (t_r + t_f) f / 6",
    parameters=(SUPPLY_V, CURRENT_A, _EDGE_US, _HZ),
    result_unit="W",
    source=Source("voltage and current change along straight lines", standing="derived"),
    validity="resistive load such as tape",
)
def resistive_switching_w(supply_v: Numeric, current_a: Numeric, edge_us: Numeric, switching_hz: Numeric) -> Numeric:
    """Switching loss in W with a resistive load. Numbers or arrays that broadcast."""
    return switching_w(supply_v, current_a, edge_us, switching_hz) / 3


@formula(
    expression="t = Q_gd R_g / (V_drive − V_plateau)",
    parameters=(
        positive("charge_nc", "nC", "gate-drain charge", 0.5, 100),
        positive("gate_ohm", "Ω", "resistance before the gate", 1, 1e5),
        positive("over_plateau_v", "V", "drive voltage above the gate's plateau", 0.3, 10),
    ),
    result_unit="µs",
    source=Source("charge of the gate through a resistor", section="from memory"),
    validity="one edge; a rough estimate",
)
def edge_us(charge_nc: Numeric, gate_ohm: Numeric, over_plateau_v: Numeric) -> Numeric:
    """Duration in µs of a switching edge. Numbers or arrays that broadcast."""
    duration: Numeric = np.asarray(charge_nc, float) / 1000 * gate_ohm / np.asarray(over_plateau_v, float)
    return duration


def _cold_rise_k(current_a: Numeric, on_mohm_at_25_c: Numeric, k_per_w: Numeric, duty: Numeric) -> _Floats:
    return np.asarray(k_per_w, float) * conduction_w(current_a, on_mohm_at_25_c, duty)


@formula(
    expression="T = (T_a + R_th P_sw + K (1 − 25 a)) / (1 − K a), K = R_th I² R₂₅ D",
    parameters=_HEAT,
    result_unit="°C",
    source=_WARM,
    validity=_WARM_VALID,
)
def junction_c(
    current_a: Numeric,
    on_mohm_at_25_c: Numeric,
    k_per_w: Numeric,
    ambient_c: Numeric,
    duty: Numeric,
    switching_w: Numeric = 0,
    growth_per_k: Numeric = 0.0075,
) -> Numeric:
    """Junction temperature in °C after long time; not a number where the heat runs away. Arrays broadcast."""
    rise_k = _cold_rise_k(current_a, on_mohm_at_25_c, k_per_w, duty)
    left = 1 - rise_k * growth_per_k
    base_c = ambient_c + np.asarray(k_per_w, float) * switching_w + rise_k * (1 - 25 * np.asarray(growth_per_k, float))
    warm_c: Numeric = np.where(left > 0, base_c / np.where(left > 0, left, 1), np.nan)[()]
    return warm_c


@formula(
    expression="K a, K = R_th I² R₂₅ D",
    parameters=(CURRENT_A, _MOHM, _K_PER_W, DUTY, _PER_K),
    result_unit="",
    source=_WARM,
    validity="from 1 on no temperature is steady: the heat runs away",
)
def thermal_feedback(
    current_a: Numeric, on_mohm_at_25_c: Numeric, k_per_w: Numeric, duty: Numeric, growth_per_k: Numeric = 0.0075
) -> Numeric:
    """How much of each kelvin of warming comes back as further warming. Numbers or arrays that broadcast."""
    feedback: Numeric = _cold_rise_k(current_a, on_mohm_at_25_c, k_per_w, duty) * growth_per_k
    return feedback


@formula(
    expression="R = R₂₅ (1 + a (T − 25))",
    parameters=(_MOHM, Parameter("junction_c", "°C", "temperature of the junction", None, -20, 175, -100, 400), _PER_K),
    result_unit="mΩ",
    source=_WARM,
    validity=_WARM_VALID,
)
def warm_mohm(on_mohm_at_25_c: Numeric, junction_c: Numeric, growth_per_k: Numeric = 0.0075) -> Numeric:
    """Resistance in mΩ of a transistor as warm as it is. Numbers or arrays that broadcast."""
    factor = 1 + np.asarray(growth_per_k, float) * (np.asarray(junction_c, float) - 25)
    mohm: Numeric = np.asarray(on_mohm_at_25_c, float) * factor
    return mohm


@formula(
    expression="R₂₅ = (T_max − T_a − R_th P_sw) / (R_th I² D (1 + a (T_max − 25)))",
    parameters=(
        positive("current_a", "A", "current while on", 0.1, 20),
        _K_PER_W,
        AMBIENT_C,
        Parameter("duty", "", "share of the time that it is on", None, 0, 1, maximum=1, above=0),
        Parameter("limit_c", "°C", "junction temperature allowed", 110, 60, 175, 0, 300),
        _EXTRA_W,
        _PER_K,
    ),
    result_unit="mΩ",
    source=_WARM,
    validity=f"below 0: too warm even without resistance; {_WARM_VALID}",
)
def largest_on_mohm(
    current_a: Numeric,
    k_per_w: Numeric,
    ambient_c: Numeric,
    duty: Numeric,
    limit_c: Numeric = 110,
    switching_w: Numeric = 0,
    growth_per_k: Numeric = 0.0075,
) -> Numeric:
    """Largest resistance in mΩ at 25 °C that keeps the junction at its limit. Numbers or arrays that broadcast."""
    limit, heat = np.asarray(limit_c, float), np.asarray(k_per_w, float)
    spare_k = limit - ambient_c - heat * switching_w
    per_ohm_k = heat * np.asarray(current_a, float) ** 2 * duty * (1 + growth_per_k * (limit - 25))
    mohm: Numeric = ratio(1000 * spare_k, per_ohm_k)
    return mohm
