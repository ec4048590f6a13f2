"""Open ground: the direct ray and the one off the ground."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.constants import NEAREST_DISTANCE_M
from showplan.physics.free_space import wavelength_m
from showplan.physics.parameters import FREQUENCY_MHZ

_GROUND_DISTANCE_M: Final = Parameter(
    "distance_m", "m", "distance along the ground, clamped to 1 m and more", None, NEAREST_DISTANCE_M, 10_000, 0, 1e9
)
_TRANSMIT_HEIGHT_M: Final = Parameter(
    "transmit_height_m", "m", "height of the sending antenna above ground", above=0, maximum=1e6, low=0.1, high=100
)
_RECEIVE_HEIGHT_M: Final = Parameter(
    "receive_height_m", "m", "height of the receiving antenna above ground", above=0, maximum=1e6, low=0.1, high=100
)


@formula(
    expression="L = −20 log₁₀((λ / 4π) |e^(−jk r₁) / r₁ − e^(−jk r₂) / r₂|), r² = d² + (h₁ ∓ h₂)²",
    parameters=(_GROUND_DISTANCE_M, FREQUENCY_MHZ, _TRANSMIT_HEIGHT_M, _RECEIVE_HEIGHT_M),
    result_unit="dB",
    source=Source("direct ray and one reflected with coefficient −1 by flat ground", standing="derived"),
    validity="flat open ground, low angles, up to 10 km, 100 to 6000 MHz; fades are deeper than real ground makes "
    "them; a distance below 1 m counts as 1 m",
)
def two_ray_loss_db(
    distance_m: Numeric, frequency_mhz: Numeric, transmit_height_m: Numeric, receive_height_m: Numeric
) -> Numeric:
    """Path loss in dB over flat ground, fades and peaks of the two rays included.

    distance_m is measured along the ground and clamped to 1 m and more; heights > 0, frequency_mhz > 0.
    Numbers or arrays that broadcast.
    """
    distance_m = np.maximum(distance_m, NEAREST_DISTANCE_M)
    direct_m = np.hypot(distance_m, transmit_height_m - receive_height_m)
    reflected_m = np.hypot(distance_m, transmit_height_m + receive_height_m)
    # r2 - r1 in a form that keeps its digits far away
    detour_m = 4 * transmit_height_m * receive_height_m / (direct_m + reflected_m)
    wave_m = wavelength_m(frequency_mhz)
    half_phase = np.pi * detour_m / wave_m
    both_m2 = direct_m * reflected_m
    # |e^(-jk r1)/r1 - e^(-jk r2)/r2| by the law of cosines; never 0, because the rays differ in length
    field_per_m = np.sqrt(detour_m**2 + 4 * both_m2 * np.sin(half_phase) ** 2) / both_m2
    loss: Numeric = -20 * np.log10(wave_m / (4 * np.pi) * field_per_m)
    return loss


@formula(
    expression="L = 40 log₁₀(d) − 20 log₁₀(h₁ h₂), d ≥ 1 m",
    parameters=(_GROUND_DISTANCE_M, _TRANSMIT_HEIGHT_M, _RECEIVE_HEIGHT_M),
    result_unit="dB",
    source=Source("plane-earth loss, limit of the two-ray model", standing="memory"),
    validity="well beyond the breakpoint 4 h₁ h₂ / λ over flat ground, up to 10 km; nearer it gives too little loss",
)
def plane_earth_loss_db(distance_m: Numeric, transmit_height_m: Numeric, receive_height_m: Numeric) -> Numeric:
    """Path loss in dB far away over flat ground: 40 dB per decade, whatever the frequency.

    distance_m is clamped to 1 m and more; heights > 0. Numbers or arrays that broadcast.
    """
    decades = np.log10(np.maximum(distance_m, NEAREST_DISTANCE_M))
    loss: Numeric = 40 * decades - 20 * np.log10(transmit_height_m) - 20 * np.log10(receive_height_m)
    return loss


@formula(
    expression="d = 4 h₁ h₂ / λ",
    parameters=(FREQUENCY_MHZ, _TRANSMIT_HEIGHT_M, _RECEIVE_HEIGHT_M),
    result_unit="m",
    source=Source("distance at which the ground touches the first Fresnel zone", standing="memory"),
    validity="flat ground; free space and plane-earth loss are equal π times further out",
)
def breakpoint_distance_m(frequency_mhz: Numeric, transmit_height_m: Numeric, receive_height_m: Numeric) -> Numeric:
    """Distance in metres from which the loss over flat ground grows by 40 dB per decade. Arrays broadcast."""
    return 4 * transmit_height_m * receive_height_m / wavelength_m(frequency_mhz)
