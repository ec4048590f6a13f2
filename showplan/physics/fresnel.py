"""First Fresnel zone: how much room a radio path needs."""

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.free_space import wavelength_m
from showplan.physics.parameters import FREQUENCY_MHZ


@formula(
    expression="r = √(λ d₁ d₂ / (d₁ + d₂))",
    parameters=(
        Parameter("distance_to_a_m", "m", "from the point to one end", above=0, maximum=1e9, low=0.5),
        Parameter("distance_to_b_m", "m", "from the point to the other end", above=0, maximum=1e9, low=0.5),
        FREQUENCY_MHZ,
    ),
    result_unit="m",
    source=Source("ITU-R P.526, first Fresnel ellipsoid", section="form read in a public source file", standing="read"),
    validity="both ends some wavelengths away, from about 0.5 m; 100 to 6000 MHz",
)
def fresnel_radius_m(distance_to_a_m: Numeric, distance_to_b_m: Numeric, frequency_mhz: Numeric) -> Numeric:
    """Radius in metres of the first Fresnel zone at a point of the path; keep 60 % of it clear.

    Both distances and frequency_mhz > 0. Numbers or arrays that broadcast.
    """
    shorter = distance_to_a_m * distance_to_b_m / (distance_to_a_m + distance_to_b_m)
    radius: Numeric = np.sqrt(wavelength_m(frequency_mhz) * shorter)
    return radius
