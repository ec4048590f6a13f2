"""Free space: wavelength and basic transmission loss."""

import math
from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Source, formula
from showplan.physics.constants import NEAREST_DISTANCE_M, SPEED_OF_LIGHT_M_PER_S
from showplan.physics.parameters import DISTANCE_M, FREQUENCY_MHZ

# dB, 20 log10(4 pi / c) for metres and MHz: -27.5522
_AT_1_M_AND_1_MHZ_DB: Final = 20 * math.log10(4e6 * math.pi / SPEED_OF_LIGHT_M_PER_S)


@formula(
    expression="λ = c / f",
    parameters=(FREQUENCY_MHZ,),
    result_unit="m",
    source=Source("speed of light, SI definition of the metre", standing="derived"),
    validity="in vacuum, and in air within 0.03 %; planned for 100 to 6000 MHz",
)
def wavelength_m(frequency_mhz: Numeric) -> Numeric:
    """Wavelength in metres of a frequency in MHz (> 0)."""
    return SPEED_OF_LIGHT_M_PER_S / (frequency_mhz * 1e6)


@formula(
    expression="L = 20 log₁₀(4π d f / c), d ≥ 1 m",
    parameters=(DISTANCE_M, FREQUENCY_MHZ),
    result_unit="dB",
    source=Source("ITU-R P.525, free-space basic transmission loss", standing="memory"),
    validity="far field with a clear first Fresnel zone, 100 to 6000 MHz; a distance below 1 m counts as 1 m",
)
def free_space_loss_db(distance_m: Numeric, frequency_mhz: Numeric) -> Numeric:
    """Free-space loss in dB between isotropic antennas.

    distance_m is clamped to 1 m and more: nearer, the formula means nothing and zero has no logarithm.
    frequency_mhz > 0. Numbers or arrays that broadcast. Source: ITU-R P.525 (form from memory).
    """
    distance_m = np.maximum(distance_m, NEAREST_DISTANCE_M)
    loss: Numeric = 20 * np.log10(distance_m) + 20 * np.log10(frequency_mhz) + _AT_1_M_AND_1_MHZ_DB
    return loss
