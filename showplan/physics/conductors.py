"""Resistance of wires and what it takes of the voltage."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.electrical import CURRENT_A, LENGTH_M, SUPPLY_V, not_negative, positive

COPPER_OHM_MM2_PER_M: Final = 1 / 58  # ohm mm2/m at 20 °C, annealed copper, IEC 60028
COPPER_PER_K: Final = 0.00393  # 1/K at 20 °C, annealed copper, power handbook

_AWG: Final = Parameter("awg", "", "gauge; 0, −1, −2 stand for 1/0, 2/0, 3/0", None, 0, 40, -3, 60)
_CONDUCTOR_C: Final = Parameter("conductor_c", "°C", "temperature of the conductor", None, -20, 90, -100, 250)
_OHM_PER_KM: Final = not_negative("ohm_per_km", "Ω/km", "resistance of one conductor", 1000)
_LOOP_OHM: Final = not_negative("loop_ohm", "Ω", "resistance there and back", 10)
_ASTM: Final = Source("ASTM B258-02", section="quoted in a university handout", standing="read")
_COPPER: Final = Source("IEC 60028", section="annealed copper, read on two pages", standing="read")
_OHM: Final = Source("Ohm's law", standing="derived")


@formula(
    expression="d = 0.127 mm · 92^((36 − n) / 39)",
    parameters=(_AWG,),
    result_unit="mm",
    source=_ASTM,
    validity="solid wire",
)
def awg_diameter_mm(awg: Numeric) -> Numeric:
    """Diameter in mm of a solid wire of an American wire gauge. Numbers or arrays that broadcast."""
    diameter: Numeric = 0.127 * 92 ** ((36 - np.asarray(awg, float)) / 39)
    return diameter


@formula(
    expression="S = π d² / 4",
    parameters=(_AWG,),
    result_unit="mm²",
    source=_ASTM,
    validity="solid wire; the copper of a stranded one is the same",
)
def awg_area_mm2(awg: Numeric) -> Numeric:
    """Cross-section in mm² of a wire of an American wire gauge. Numbers or arrays that broadcast."""
    return np.pi / 4 * awg_diameter_mm(awg) ** 2


@formula(
    expression="k = 1 + 0.00393 (T − 20)",
    parameters=(_CONDUCTOR_C,),
    result_unit="",
    source=Source("power engineering handbook", section="temperature coefficient of copper", standing="read"),
    validity="copper, −50 to 150 °C",
)
def copper_temperature_factor(conductor_c: Numeric) -> Numeric:
    """Resistance of copper at a temperature over that at 20 °C. Numbers or arrays that broadcast."""
    factor: Numeric = 1 + COPPER_PER_K * (np.asarray(conductor_c, float) - 20)
    return factor


@formula(
    expression="R = 1000 / (58 S) · k(T)",
    parameters=(
        positive("area_mm2", "mm²", "cross-section", 0.01, 100),
        Parameter("conductor_c", "°C", "temperature of the conductor", 20, -20, 90, -100, 250),
    ),
    result_unit="Ω/km",
    source=_COPPER,
    validity="solid wire; flexible wire of the same nominal area may have 16 % more: use the table of wires",
)
def solid_copper_ohm_per_km(area_mm2: Numeric, conductor_c: Numeric = 20) -> Numeric:
    """Resistance of a kilometre of solid copper wire. Numbers or arrays that broadcast."""
    return 1000 * COPPER_OHM_MM2_PER_M / np.asarray(area_mm2, float) * copper_temperature_factor(conductor_c)


@formula(
    expression="R = 2 L r / 1000 · k(T)",
    parameters=(
        Parameter("ohm_per_km", "Ω/km", "resistance of one conductor at 20 °C", None, 0, 1000, 0, 1e12),
        LENGTH_M,
        Parameter("conductor_c", "°C", "temperature of the conductor", 20, -20, 90, -100, 250),
    ),
    result_unit="Ω",
    source=_OHM,
    validity="copper, two like conductors; the length is that of the cable",
)
def loop_ohm(ohm_per_km: Numeric, length_m: Numeric, conductor_c: Numeric = 20) -> Numeric:
    """Resistance of a cable there and back at a temperature. Numbers or arrays that broadcast."""
    ohm: Numeric = 2 * np.asarray(ohm_per_km, float) * length_m / 1000 * copper_temperature_factor(conductor_c)
    return ohm


@formula(
    expression="V = I R", parameters=(CURRENT_A, _LOOP_OHM), result_unit="V", source=_OHM, validity="direct current"
)
def cable_drop_v(current_a: Numeric, loop_ohm: Numeric) -> Numeric:
    """Voltage that a cable takes. Numbers or arrays that broadcast."""
    drop: Numeric = np.asarray(current_a, float) * loop_ohm
    return drop


@formula(
    expression="p = 100 V / V₀",
    parameters=(not_negative("drop_v", "V", "voltage lost", 60), SUPPLY_V),
    result_unit="%",
    source=_OHM,
    validity="recommended at most 3 to 5 % for cables by NEC 210.19(A) and IEC 60364-5-52 Annex G; no limit for tape",
)
def drop_percent(drop_v: Numeric, supply_v: Numeric) -> Numeric:
    """Voltage lost in percent of the supply's. Numbers or arrays that broadcast."""
    percent: Numeric = 100 * np.asarray(drop_v, float) / supply_v
    return percent


@formula(
    expression="L = p V₀ / (100 I r), r there and back",
    parameters=(
        positive("percent", "%", "share of the supply's voltage that may be lost", 0.5, 10),
        SUPPLY_V,
        positive("current_a", "A", "current", 0.01, 100),
        positive("loop_ohm_per_m", "Ω/m", "resistance of a metre, there and back", 0.001, 1),
    ),
    result_unit="m",
    source=_OHM,
    validity="load at the end of the cable",
)
def longest_cable_m(percent: Numeric, supply_v: Numeric, current_a: Numeric, loop_ohm_per_m: Numeric) -> Numeric:
    """Length of cable in m that loses just so much of the voltage. Numbers or arrays that broadcast."""
    length: Numeric = np.asarray(percent, float) / 100 * supply_v / (np.asarray(current_a, float) * loop_ohm_per_m)
    return length


@formula(
    expression="r = 2 (ρ / t) / w",
    parameters=(
        positive("foil_um", "µm", "thickness of the copper foil: 35 for one ounce, 70 for two", 10, 150),
        positive("rail_mm", "mm", "width of each of both rails", 0.5, 20),
    ),
    result_unit="Ω/m",
    source=Source("IEC 60028", section="annealed copper; geometry derived", standing="derived"),
    validity="20 °C, one layer of foil, solder and connectors not counted; better measured",
)
def tape_ohm_per_m(foil_um: Numeric, rail_mm: Numeric) -> Numeric:
    """Resistance of a metre of tape there and back, by its copper. Numbers or arrays that broadcast."""
    square_ohm = COPPER_OHM_MM2_PER_M / np.asarray(foil_um, float)
    ohm: Numeric = 2 * 1000 * square_ohm / np.asarray(rail_mm, float)
    return ohm
