"""Batteries: time by discharge current, temperature, energy, charging."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.division import ratio
from showplan.physics.electrical import not_negative, positive, positive_share

_AMPS: Final = positive("current_a", "A", "discharge current", 0.01, 100)
_AH: Final = positive("capacity_ah", "Ah", "capacity at the rated discharge", 0.5, 200)
_RATED_H: Final = positive("rated_h", "h", "hours of the discharge that the capacity holds for", 1, 20)
_EXPONENT: Final = Parameter("exponent", "", "Peukert's exponent", 1, 1, 1.6, 1, 2)
_RATED: Final = (_AMPS, _AH, _RATED_H, _EXPONENT)
_PEUKERT: Final = Source("Peukert's law", section="worked examples on web pages", standing="read")
_RATED_VALID: Final = "steady current between the rated one and some ten times it, at 20 to 25 °C"
_DERIVED: Final = Source("energy and charge balance", standing="derived")


@formula(
    expression="t = H (C / (I H))^k",
    parameters=_RATED,
    result_unit="h",
    source=_PEUKERT,
    validity=f"{_RATED_VALID}; below it this promises more than there is: use discharge_h",
)
def peukert_h(current_a: Numeric, capacity_ah: Numeric, rated_h: Numeric, exponent: Numeric = 1) -> Numeric:
    """Hours of discharge from a capacity rated at some hours. Numbers or arrays that broadcast."""
    hours = np.asarray(rated_h, float)
    found: Numeric = hours * (np.asarray(capacity_ah, float) / (np.asarray(current_a, float) * hours)) ** exponent
    return found


@formula(
    expression="t = H (C / (I H))^k, but C / I below the rated current C / H",
    parameters=_RATED,
    result_unit="h",
    source=_PEUKERT,
    validity=f"{_RATED_VALID}; a smaller current adds no capacity",
)
def discharge_h(current_a: Numeric, capacity_ah: Numeric, rated_h: Numeric, exponent: Numeric = 1) -> Numeric:
    """Hours of discharge; slow discharges get the rated capacity and no more. Arrays broadcast."""
    at_most: Numeric = np.asarray(capacity_ah, float) / np.asarray(current_a, float)
    return np.minimum(peukert_h(current_a, capacity_ah, rated_h, exponent), at_most)


@formula(
    expression="s = t / T(I); the shares of a day add up",
    parameters=(
        not_negative("hours", "h", "time at this current", 24),
        not_negative("current_a", "A", "discharge current", 100),
        _AH,
        _RATED_H,
        _EXPONENT,
    ),
    result_unit="",
    source=Source("Peukert's law, part by part", standing="derived"),
    validity="never by the mean current of a day: that takes too little; recovery in pauses not counted",
)
def discharge_share(
    hours: Numeric, current_a: Numeric, capacity_ah: Numeric, rated_h: Numeric, exponent: Numeric = 1
) -> Numeric:
    """Share of a full battery that a current takes in some hours. Numbers or arrays that broadcast."""
    amps, capacity = np.asarray(current_a, float), np.asarray(capacity_ah, float)
    # 1 / T without a division by a current of 0
    faster = np.maximum(amps * rated_h / capacity, 1) ** (np.asarray(exponent, float) - 1)
    share: Numeric = np.asarray(hours, float) * amps / capacity * faster
    return share


@formula(
    expression="C_p = C (C / H)^(k − 1)",
    parameters=(_AH, _RATED_H, _EXPONENT),
    result_unit="Ah",
    source=_PEUKERT,
    validity="the capacity at 1 A, for the form t = C_p / I^k; never to be mixed with the rated one",
)
def one_ampere_capacity_ah(capacity_ah: Numeric, rated_h: Numeric, exponent: Numeric = 1) -> Numeric:
    """Capacity in Ah at a discharge of 1 A. Numbers or arrays that broadcast."""
    capacity = np.asarray(capacity_ah, float)
    at_one: Numeric = capacity * (capacity / rated_h) ** (np.asarray(exponent, float) - 1)
    return at_one


@formula(
    expression="t = C_p / I^k",
    parameters=(_AMPS, positive("one_ampere_ah", "Ah", "capacity at a discharge of 1 A", 0.5, 500), _EXPONENT),
    result_unit="h",
    source=_PEUKERT,
    validity="only with the capacity at 1 A",
)
def one_ampere_form_h(current_a: Numeric, one_ampere_ah: Numeric, exponent: Numeric = 1) -> Numeric:
    """Hours of discharge from the capacity at 1 A. Numbers or arrays that broadcast."""
    hours: Numeric = np.asarray(one_ampere_ah, float) / np.asarray(current_a, float) ** exponent
    return hours


@formula(
    expression="k = ln(t₂ / t₁) / ln(I₁ / I₂)",
    parameters=(
        positive("first_a", "A", "first discharge current", 0.01, 100),
        positive("first_h", "h", "its time", 0.1, 100),
        positive("second_a", "A", "another discharge current", 0.01, 100),
        positive("second_h", "h", "its time", 0.1, 100),
    ),
    result_unit="",
    source=_PEUKERT,
    validity="two points of a maker's table; flooded lead 1.2 to 1.6, AGM 1.05 to 1.15, gel 1.1 to 1.25",
)
def peukert_exponent(first_a: Numeric, first_h: Numeric, second_a: Numeric, second_h: Numeric) -> Numeric:
    """Peukert's exponent from two discharges. Numbers or arrays that broadcast."""
    times = np.log(np.asarray(second_h, float) / np.asarray(first_h, float))
    exponent: Numeric = ratio(times, np.log(np.asarray(first_a, float) / np.asarray(second_a, float)))
    return exponent


@formula(
    expression="y = −2.8117 x³ + 4.1916 x² − 2.4941 x + 1.405, x = T / 100 °C",
    parameters=(Parameter("battery_c", "°C", "temperature of the battery", None, -10, 45, -40, 60),),
    result_unit="",
    source=Source("IEEE 485", section="cubic fit printed on a web page", standing="read"),
    validity="lead-acid; capacity is 1 / y of that at 25 °C. A maker's table gives less loss in the cold",
)
def ieee_485_size_factor(battery_c: Numeric) -> Numeric:
    """By how much more lead-acid capacity is needed at a temperature. Numbers or arrays that broadcast."""
    x = np.asarray(battery_c, float) / 100
    factor: Numeric = -2.8117 * x**3 + 4.1916 * x**2 - 2.4941 * x + 1.405
    return factor


@formula(
    expression="t = n V C d f_T f_a η / P",
    parameters=(
        positive("pack_wh", "Wh", "nominal energy of the pack", 1, 1000),
        positive("power_w", "W", "power drawn", 0.1, 500),
        positive_share("depth", "share of it that may be used", 0.9),
        positive_share("temperature_share", "share left at this temperature", 1),
        positive_share("health_share", "share left of an aged pack", 0.8),
        positive_share("efficiency", "of a converter behind it", 1),
    ),
    result_unit="h",
    source=_DERIVED,
    validity="discharges slow enough that the rate does not matter",
)
def energy_runtime_h(
    pack_wh: Numeric,
    power_w: Numeric,
    depth: Numeric = 0.9,
    temperature_share: Numeric = 1,
    health_share: Numeric = 0.8,
    efficiency: Numeric = 1,
) -> Numeric:
    """Hours that a pack feeds a power. Numbers or arrays that broadcast."""
    usable_wh = np.asarray(pack_wh, float) * depth * temperature_share * health_share * efficiency
    hours: Numeric = usable_wh / np.asarray(power_w, float)
    return hours


@formula(
    expression="E = V C",
    parameters=(positive("nominal_v", "V", "nominal voltage", 1, 60), _AH),
    result_unit="Wh",
    source=Source("rating by which airlines go", section="worked example on a web page", standing="read"),
    validity="nominal values, as printed on the pack",
)
def pack_wh(nominal_v: Numeric, capacity_ah: Numeric) -> Numeric:
    """Energy of a pack in Wh. Numbers or arrays that broadcast."""
    energy: Numeric = np.asarray(nominal_v, float) * capacity_ah
    return energy


@formula(
    expression="t = f C / I",
    parameters=(
        _AH,
        positive("charge_a", "A", "charging current", 0.05, 20),
        Parameter("charge_factor", "", "charge put in over charge got out", 1.2, 1, 1.5, 1, 3),
    ),
    result_unit="h",
    source=Source("charging time", section="worked examples on two web pages", standing="read"),
    validity="Li-ion 1.15, lead-acid 1.2, NiMH 1.4; never above the charger's and the maker's current",
)
def charge_h(capacity_ah: Numeric, charge_a: Numeric, charge_factor: Numeric = 1.2) -> Numeric:
    """Hours to charge an empty battery. Numbers or arrays that broadcast."""
    hours: Numeric = np.asarray(capacity_ah, float) * charge_factor / np.asarray(charge_a, float)
    return hours


@formula(
    expression="I = V_out I_out / (η V_in)",
    parameters=(
        not_negative("output_a", "A", "current behind the converter", 20),
        positive("output_v", "V", "voltage behind the converter", 1, 60),
        positive("input_v", "V", "voltage before it", 3, 60),
        positive_share("efficiency", "of the converter", 0.85),
    ),
    result_unit="A",
    source=_DERIVED,
    validity="switching converter; a linear regulator takes its output current",
)
def converter_input_a(output_a: Numeric, output_v: Numeric, input_v: Numeric, efficiency: Numeric = 0.85) -> Numeric:
    """Current in A that a converter takes. Numbers or arrays that broadcast."""
    watts = np.asarray(output_a, float) * output_v / np.asarray(efficiency, float)
    current: Numeric = watts / np.asarray(input_v, float)
    return current
