"""Diffraction over a single edge: balcony fronts, scenery, truss towers, hill tops."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.free_space import wavelength_m
from showplan.physics.parameters import FREQUENCY_MHZ, loss_parameter

NO_LOSS_BELOW: Final = -0.78  # diffraction parameter, ITU-R P.526: the edge is far enough below the line

_P526: Final = Source("ITU-R P.526, single knife edge", section="form read in public source files", standing="read")
_HEIGHT_M: Final = Parameter(
    "height_above_line_m", "m", "edge above (below: negative) the line between the ends", None, -100, 100, -1e6, 1e6
)
_TO_A_M: Final = Parameter("distance_to_a_m", "m", "from the edge to one end", None, 0.5, 1e5, None, 1e9, 0)
_TO_B_M: Final = Parameter("distance_to_b_m", "m", "from the edge to the other end", None, 0.5, 1e5, None, 1e9, 0)


@formula(
    expression="ν = h √((2 / λ) (1 / d₁ + 1 / d₂))",
    parameters=(_HEIGHT_M, _TO_A_M, _TO_B_M, FREQUENCY_MHZ),
    result_unit="",
    source=_P526,
    validity="the edge lies between the ends, some wavelengths from both; h small against the distances",
)
def diffraction_parameter(
    height_above_line_m: Numeric, distance_to_a_m: Numeric, distance_to_b_m: Numeric, frequency_mhz: Numeric
) -> Numeric:
    """Height of an edge as a number without unit: 0 on the line of sight, -0.78 well below it.

    Distances and frequency_mhz > 0. Numbers or arrays that broadcast.
    """
    closeness_per_m = 1 / distance_to_a_m + 1 / distance_to_b_m
    parameter: Numeric = height_above_line_m * np.sqrt(2 / wavelength_m(frequency_mhz) * closeness_per_m)
    return parameter


@formula(
    expression="J = 6.9 + 20 log₁₀(√((ν − 0.1)² + 1) + ν − 0.1) for ν > −0.78, else 0",
    parameters=(Parameter("diffraction_parameter", "", "ν", minimum=-1e9, maximum=1e9, low=-5, high=5),),
    result_unit="dB",
    source=_P526,
    validity="thin edge across the path; within 0.13 dB of the exact Fresnel integral for −0.5 ≤ ν ≤ 5",
)
def knife_edge_loss_db(diffraction_parameter: Numeric) -> Numeric:
    """Loss in dB of one thin edge, on top of free space; 0 for an edge well below the line of sight."""
    shifted = np.maximum(diffraction_parameter, NO_LOSS_BELOW) - 0.1
    approximation = 6.9 + 20 * np.log10(np.hypot(shifted, 1) + shifted)
    loss: Numeric = np.where(np.greater(diffraction_parameter, NO_LOSS_BELOW), approximation, 0.0)[()]
    return loss


@formula(
    expression="L = J(ν(h, d₁, d₂, f))",
    parameters=(_HEIGHT_M, _TO_A_M, _TO_B_M, FREQUENCY_MHZ),
    result_unit="dB",
    source=_P526,
    validity="one obstacle with a sharp upper edge, wider than the first Fresnel zone; rounded tops lose more",
)
def obstacle_loss_db(
    height_above_line_m: Numeric, distance_to_a_m: Numeric, distance_to_b_m: Numeric, frequency_mhz: Numeric
) -> Numeric:
    """Loss in dB over an obstacle whose edge stands this far above the line between the ends.

    Distances and frequency_mhz > 0. Numbers or arrays that broadcast.
    """
    parameter = diffraction_parameter(height_above_line_m, distance_to_a_m, distance_to_b_m, frequency_mhz)
    return knife_edge_loss_db(parameter)


@formula(
    expression="L = −10 log₁₀(10^(−L₁/10) + 10^(−L₂/10))",
    parameters=(
        loss_parameter("through_loss_db", "loss through the obstacle"),
        loss_parameter("over_loss_db", "loss over its edge"),
    ),
    result_unit="dB",
    source=Source("sum of the powers on two ways round one obstacle", standing="derived"),
    validity="mean power; a wave takes both ways at once, so the two losses never add; can be up to 3 dB below the "
    "smaller one",
)
def through_or_over_loss_db(through_loss_db: Numeric, over_loss_db: Numeric) -> Numeric:
    """Loss in dB of an obstacle that the wave passes both through and over. Arrays broadcast."""
    smaller = np.minimum(through_loss_db, over_loss_db)
    apart = np.abs(np.subtract(through_loss_db, over_loss_db))
    loss: Numeric = smaller - 10 * np.log10(1 + 10.0 ** (-apart / 10))
    return loss
