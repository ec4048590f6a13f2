"""Receiver noise."""

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.constants import BOLTZMANN_J_PER_K, NOISE_TEMPERATURE_K


@formula(
    expression="N = 10 log₁₀(k T B / 1 mW) + NF",
    parameters=(
        Parameter("bandwidth_mhz", "MHz", "noise bandwidth", above=0, maximum=1e6, low=0.001, high=100),
        Parameter("noise_figure_db", "dB", "noise figure of the receiver", 0, high=20, minimum=0, maximum=100),
        Parameter("temperature_k", "K", "temperature", NOISE_TEMPERATURE_K, 200, 400, above=0, maximum=1e6),
    ),
    result_unit="dBm",
    source=Source("thermal noise k T B with the SI value of k", standing="memory"),
    validity="thermal noise only, other radio users come on top; 0.001 to 100 MHz, 200 to 400 K, NF to 20 dB",
)
def thermal_noise_dbm(
    bandwidth_mhz: Numeric, noise_figure_db: Numeric = 0, temperature_k: Numeric = NOISE_TEMPERATURE_K
) -> Numeric:
    """Noise power in dBm of a receiver in its noise bandwidth.

    bandwidth_mhz > 0, temperature_k > 0. Numbers or arrays that broadcast.
    """
    density_mw_per_hz = BOLTZMANN_J_PER_K * 1000 * temperature_k
    noise: Numeric = 10 * np.log10(density_mw_per_hz) + 10 * np.log10(bandwidth_mhz) + 60 + noise_figure_db
    return noise
