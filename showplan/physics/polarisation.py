"""Polarisation mismatch between two linear antennas."""

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.constants import POLARISATION_CAP_DB

# cos squared of the angle at which the cap is reached; keeps log10 away from zero
_LEAST_SHARE = 10 ** (-POLARISATION_CAP_DB / 10)


@formula(
    expression="L = min(−20 log₁₀|cos α|, 20)",
    parameters=(
        Parameter("mismatch_deg", "°", "angle between the two antennas", low=0, high=90, maximum=3600, minimum=-3600),
    ),
    result_unit="dB",
    source=Source("mismatch of two linear polarisations, cap of 20 dB", standing="memory"),
    validity="linear antennas, 0 to 90°; indoors reflections fill the null, hence the cap of 20 dB",
)
def polarisation_loss_db(mismatch_deg: Numeric) -> Numeric:
    """Loss in dB between two linear antennas turned against each other, never more than 20 dB."""
    share = np.cos(np.radians(mismatch_deg)) ** 2
    # 0.0 minus: a perfect match is 0 dB, not -0 dB
    loss: Numeric = 0.0 - 10 * np.log10(np.maximum(share, _LEAST_SHARE))
    return loss
