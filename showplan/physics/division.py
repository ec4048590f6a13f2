"""Division where a formula says nothing of a divisor of 0."""

from typing import Any

import numpy as np

from showplan.physics.registry import Numeric


def ratio(upper: Numeric, lower: Numeric) -> Any:
    """`upper` over `lower`: not a number where `lower` is 0, infinite where it is all but 0. Arrays broadcast."""
    above, below = np.broadcast_arrays(np.asarray(upper, float), np.asarray(lower, float))
    with np.errstate(over="ignore"):
        return np.divide(above, below, out=np.full(above.shape, np.nan), where=below != 0)[()]
