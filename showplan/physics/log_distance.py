"""Log-distance path loss with a free-space intercept."""

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.constants import NEAREST_DISTANCE_M
from showplan.physics.free_space import free_space_loss_db
from showplan.physics.parameters import DISTANCE_M, FREQUENCY_MHZ


@formula(
    expression="L = L_fs(1 m, f) + 10 n log₁₀(d / 1 m), d ≥ 1 m",
    parameters=(
        DISTANCE_M,
        FREQUENCY_MHZ,
        Parameter("path_loss_exponent", "", "n: 2 in free space", minimum=0, maximum=10, low=1.5, high=5),
    ),
    result_unit="dB",
    source=Source("textbook 'Wireless Communications', 2005, examples 2.3 to 2.6", standing="memory"),
    validity="mean loss in one kind of surroundings, n 1.5 to 5, 100 to 6000 MHz; below 1 m counts as 1 m",
)
def log_distance_loss_db(distance_m: Numeric, frequency_mhz: Numeric, path_loss_exponent: Numeric) -> Numeric:
    """Mean path loss in dB that starts as free space at 1 m and grows by 10 n dB per decade.

    distance_m is clamped to 1 m and more; frequency_mhz > 0. Numbers or arrays that broadcast.
    """
    decades = np.log10(np.maximum(distance_m, NEAREST_DISTANCE_M))
    return free_space_loss_db(NEAREST_DISTANCE_M, frequency_mhz) + 10 * path_loss_exponent * decades
