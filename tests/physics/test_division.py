"""A quotient where a formula says nothing of its divisor: what IEEE 754 gives, without a warning on the way."""

import numpy as np

from showplan.physics.division import ratio


def test_quotients_of_numbers_and_arrays() -> None:
    assert ratio(6.0, 3.0) == 2.0
    assert np.isnan(ratio(1.0, 0.0))
    assert ratio(6e4, 2.3e-307) == np.inf
    assert np.array_equal(ratio([1.0, 2.0], [[2.0], [0.0]]), [[0.5, 1.0], [np.nan, np.nan]], equal_nan=True)
