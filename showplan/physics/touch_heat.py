"""How warm tape gets, roughly: a range, never a promise. A thermometer decides."""

from typing import Any, Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.electrical import AMBIENT_C, not_negative, positive, positive_share

MOST_COOLING_W_PER_M2_K: Final = 15.0  # W/(m2 K), moving air, from memory
LEAST_COOLING_W_PER_M2_K: Final = 8.0  # W/(m2 K), still air, from memory
HEAT_SHARE: Final = 0.7  # no unit, share of the watts of LED tape that is heat, from memory
TAPE_WIDTH_MM: Final = 10.0  # mm, usual width of tape

_W_PER_M: Final = not_negative("w_per_m", "W/m", "mean power of a metre: full power times the mean level", 30)
_SIDES: Final = Parameter("cooled_sides", "", "1: lying on something; 2: free", 1, 1, 2, 1, 2, whole_number=True)
_WIDTH: Final = positive("width_mm", "mm", "width of the tape", 5, 20, TAPE_WIDTH_MM)
_SHARE: Final = positive_share("heat_share", "share of the power that becomes heat", HEAT_SHARE)
_MODEL: Final = Source("heat carried off by air, 8 to 15 W/(m² K)", section="coefficients from memory")
_VALID: Final = "rough; after some ten minutes, not covered, not coiled; covered tape gets hotter: measure it"


def _rise_k(watts: Numeric, sides: Numeric, width_mm: Numeric, heat: Numeric, cooling: float) -> Any:
    area_m2 = np.asarray(width_mm, float) / 1000 * sides
    return np.asarray(watts, float) * heat / (cooling * area_m2)


@formula(
    expression="T = T_a + q P / (8 w n)",
    parameters=(_W_PER_M, AMBIENT_C, _SIDES, _WIDTH, _SHARE),
    result_unit="°C",
    source=_MODEL,
    validity=_VALID,
)
def tape_surface_high_c(
    w_per_m: Numeric, ambient_c: Numeric, cooled_sides: Numeric = 1, width_mm: Numeric = 10.0, heat_share: Numeric = 0.7
) -> Numeric:
    """Upper end in °C of the range in which the surface of tape lies. Arrays broadcast."""
    warm_c: Numeric = ambient_c + _rise_k(w_per_m, cooled_sides, width_mm, heat_share, LEAST_COOLING_W_PER_M2_K)
    return warm_c


@formula(
    expression="T = T_a + q P / (15 w n)",
    parameters=(_W_PER_M, AMBIENT_C, _SIDES, _WIDTH, _SHARE),
    result_unit="°C",
    source=_MODEL,
    validity=_VALID,
)
def tape_surface_low_c(
    w_per_m: Numeric, ambient_c: Numeric, cooled_sides: Numeric = 1, width_mm: Numeric = 10.0, heat_share: Numeric = 0.7
) -> Numeric:
    """Lower end in °C of the range in which the surface of tape lies. Arrays broadcast."""
    warm_c: Numeric = ambient_c + _rise_k(w_per_m, cooled_sides, width_mm, heat_share, MOST_COOLING_W_PER_M2_K)
    return warm_c


@formula(
    expression="P = h w n (T_max − T_a) / q",
    parameters=(
        Parameter("limit_c", "°C", "surface temperature allowed", None, 40, 85, 0, 200),
        AMBIENT_C,
        _SIDES,
        _WIDTH,
        _SHARE,
        positive("cooling_w_per_m2_k", "W/(m² K)", "heat carried off by air", 8, 15, LEAST_COOLING_W_PER_M2_K),
    ),
    result_unit="W/m",
    source=_MODEL,
    validity=f"43 °C is the limit of ISO 13732-1 for hours on skin (from memory); {_VALID}",
)
def tape_power_allowed_w_per_m(
    limit_c: Numeric,
    ambient_c: Numeric,
    cooled_sides: Numeric = 1,
    width_mm: Numeric = 10.0,
    heat_share: Numeric = 0.7,
    cooling_w_per_m2_k: Numeric = 8.0,
) -> Numeric:
    """Mean power of a metre that keeps the surface at its limit; below 0: too hot without. Arrays broadcast."""
    warmer_k = np.asarray(limit_c, float) - ambient_c
    watts: Numeric = warmer_k / _rise_k(1, cooled_sides, width_mm, heat_share, 1.0) * cooling_w_per_m2_k
    return watts
