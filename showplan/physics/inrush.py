"""What flows when a load is switched on."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.electrical import CURRENT_A, SUPPLY_V, positive

_OHM: Final = positive("loop_ohm", "Ω", "resistance that the capacitor charges through", 0.005, 10)
_UF: Final = positive("capacitance_uf", "µF", "capacitance that charges", 1, 10_000)
_CHARGE: Final = Source("charge of a capacitor through a resistor", standing="derived")
_VALID: Final = "empty capacitor, no inductance, supply that does not limit its current"


@formula(expression="I = V / R", parameters=(SUPPLY_V, _OHM), result_unit="A", source=_CHARGE, validity=_VALID)
def capacitor_inrush_a(supply_v: Numeric, loop_ohm: Numeric) -> Numeric:
    """Peak current in A when a capacitor is switched on. Numbers or arrays that broadcast."""
    peak: Numeric = np.asarray(supply_v, float) / np.asarray(loop_ohm, float)
    return peak


@formula(expression="τ = R C", parameters=(_OHM, _UF), result_unit="ms", source=_CHARGE, validity=_VALID)
def capacitor_inrush_ms(loop_ohm: Numeric, capacitance_uf: Numeric) -> Numeric:
    """Time in ms in which the inrush falls to 37 %. Numbers or arrays that broadcast."""
    constant: Numeric = np.asarray(loop_ohm, float) * capacitance_uf / 1000
    return constant


@formula(
    expression="I²t = C V² / (2 R)",
    parameters=(SUPPLY_V, _OHM, _UF),
    result_unit="A²s",
    source=_CHARGE,
    validity=_VALID,
)
def capacitor_inrush_a2s(supply_v: Numeric, loop_ohm: Numeric, capacitance_uf: Numeric) -> Numeric:
    """I²t of a capacitor's inrush. Numbers or arrays that broadcast."""
    farad = np.asarray(capacitance_uf, float) * 1e-6
    heat: Numeric = farad * np.asarray(supply_v, float) ** 2 / (2 * np.asarray(loop_ohm, float))
    return heat


@formula(
    expression="E = C V² / 2", parameters=(SUPPLY_V, _UF), result_unit="mJ", source=_CHARGE, validity="full capacitor"
)
def capacitor_energy_mj(supply_v: Numeric, capacitance_uf: Numeric) -> Numeric:
    """Energy in mJ of a full capacitor. Numbers or arrays that broadcast."""
    energy: Numeric = np.asarray(capacitance_uf, float) / 1000 * np.asarray(supply_v, float) ** 2 / 2
    return energy


@formula(
    expression="I = k I_hot",
    parameters=(CURRENT_A, Parameter("cold_times", "", "times its hot current that it takes cold", 15, 10, 15, 1, 100)),
    result_unit="A",
    source=Source("small filament lamps", section="10 to 15 times, from memory"),
    validity="stiff supply; falls to the hot current within some tens of ms",
)
def lamp_inrush_a(current_a: Numeric, cold_times: Numeric = 15) -> Numeric:
    """Peak current in A of a cold filament lamp. Numbers or arrays that broadcast."""
    peak: Numeric = np.asarray(current_a, float) * cold_times
    return peak
