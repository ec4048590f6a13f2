"""Field strength and radiated power: some limits are stated as a field at a distance."""

import math
from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula

_THIRTY_OHM_DB: Final = 10 * math.log10(30)  # dB over 1 ohm: the 30 of E² d² = 30 P


@formula(
    expression="EIRP = 10 log₁₀((E d)² / 30 / 1 mW)",
    parameters=(
        Parameter("field_strength_mv_per_m", "mV/m", "field strength", above=0, low=1e-6, high=1e6),
        Parameter("distance_m", "m", "distance of the measurement", 3, 1, 300, above=0, maximum=1e9),
    ),
    result_unit="dBm",
    source=Source("far field of an isotropic source, E² d² = 30 P", standing="derived"),
    validity="free space and far field, 1 to 300 m; limits such as 47 CFR 15.249 state the field at 3 m",
)
def eirp_from_field_strength_dbm(field_strength_mv_per_m: Numeric, distance_m: Numeric = 3) -> Numeric:
    """EIRP in dBm that makes this field strength in mV/m at this distance in m; both > 0."""
    potential_dbv: Numeric = 20 * np.log10(field_strength_mv_per_m) + 20 * np.log10(distance_m) - 60
    return potential_dbv - _THIRTY_OHM_DB + 30
