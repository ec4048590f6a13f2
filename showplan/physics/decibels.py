"""Decibels: powers and power ratios (10 log). Arguments are numbers or arrays that broadcast."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.parameters import level_parameter, power_parameter

_DECIBEL: Final = Source("ISO 80000-3, decibel of a power quantity", standing="memory")
_SUM: Final = Source("sum of powers in mW", standing="derived")
_NEPERS_PER_DB: Final = float(np.log(10)) / 10  # natural logarithm of a power ratio of 1 dB


@formula(
    expression="P[dBm] = 10 log₁₀(P[mW])",
    parameters=(Parameter("power_mw", "mW", "power", above=0, low=1e-20, high=1e6),),
    result_unit="dBm",
    source=_DECIBEL,
    validity="exact by definition; expected for radio powers of 1e-20 to 1e6 mW",
)
def dbm_from_mw(power_mw: Numeric) -> Numeric:
    """Power in dBm from a power in mW (> 0)."""
    return 10 * np.log10(power_mw)


@formula(
    expression="P[mW] = 10^(P[dBm] / 10)",
    parameters=(power_parameter("power_dbm", "power"),),
    result_unit="mW",
    source=_DECIBEL,
    validity="exact by definition; expected for radio powers of -200 to 60 dBm",
)
def mw_from_dbm(power_dbm: Numeric) -> Numeric:
    """Power in mW from a power in dBm."""
    return 10.0 ** (power_dbm / 10)


@formula(
    expression="G[dB] = 10 log₁₀(P₁ / P₂)",
    parameters=(Parameter("power_ratio", "", "ratio of two powers", above=0, low=1e-30, high=1e30),),
    result_unit="dB",
    source=_DECIBEL,
    validity="exact by definition; powers only, not voltages; expected for 1e-30 to 1e30",
)
def db_from_ratio(power_ratio: Numeric) -> Numeric:
    """Level in dB from a ratio of two powers (> 0)."""
    return 10 * np.log10(power_ratio)


@formula(
    expression="P₁ / P₂ = 10^(G[dB] / 10)",
    parameters=(level_parameter("level_db", "level"),),
    result_unit="",
    source=_DECIBEL,
    validity="exact by definition; powers only, not voltages; expected for -300 to 300 dB",
)
def ratio_from_db(level_db: Numeric) -> Numeric:
    """Ratio of two powers from a level in dB."""
    return 10.0 ** (level_db / 10)


@formula(
    expression="P = 10 log₁₀(10^(P₁/10) + 10^(P₂/10))",
    parameters=(power_parameter("first_dbm", "first power"), power_parameter("second_dbm", "second power")),
    result_unit="dBm",
    source=_SUM,
    validity="for powers that are not phase-locked, as interference and noise; expected for -200 to 60 dBm",
)
def add_powers_dbm(first_dbm: Numeric, second_dbm: Numeric) -> Numeric:
    """Sum in dBm of two independent powers in dBm; minus infinity counts as no power."""
    first, second = np.multiply(first_dbm, _NEPERS_PER_DB), np.multiply(second_dbm, _NEPERS_PER_DB)
    total: Numeric = np.logaddexp(first, second) / _NEPERS_PER_DB
    return total
