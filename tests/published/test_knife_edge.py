"""Single knife edge of ITU-R P.526 (form read in public source files), and the exact Fresnel integral."""

import numpy as np
import pytest
from scipy.special import fresnel

from showplan.physics.knife_edge import diffraction_parameter, knife_edge_loss_db, obstacle_loss_db
from tests.published.tolerances import LAST_PRINTED_DIGIT_DB

APPROXIMATION_DB = 0.13  # dB, between the approximation and the integral, for parameters of -0.5 to 5
HALF_A_HUNDREDTH_DB = 0.0051  # dB, for figures printed to a hundredth
HALF_LAST_DIGIT = 0.00006  # parameter without unit, printed to four places


def exact_loss_db(parameter):
    """Knife-edge loss by the Fresnel integral (scipy): a second opinion."""
    s, c = fresnel(parameter)
    return -20 * np.log10(np.hypot(1 - c - s, c - s) / 2)


@pytest.mark.parametrize(
    ("parameter", "loss_db", "exact_db"),
    # ITU-R P.526 approximation; exact value by scipy's Fresnel integral
    [
        (-1, 0, -1.00),
        (-0.78, 0, -0.01),
        (-0.7, 0.536, 0.466),
        (-0.5, 1.959, 1.859),
        (0, 6.033, 6.021),
        (0.5, 10.288, 10.234),
        (1, 13.926, 13.864),
        (1.5, 16.784, 16.777),
        (2, 19.043, 19.091),
        (2.4, 20.539, 20.618),
        (3, 22.416, 22.522),
        (5, 26.814, 26.936),
    ],
)
def test_loss_by_parameter(parameter, loss_db, exact_db):
    assert knife_edge_loss_db(parameter) == pytest.approx(loss_db, abs=LAST_PRINTED_DIGIT_DB)
    assert exact_loss_db(parameter) == pytest.approx(exact_db, abs=HALF_A_HUNDREDTH_DB)


def test_approximation_stays_near_the_integral():
    parameter = np.linspace(-0.5, 5, 2001)
    assert np.abs(knife_edge_loss_db(parameter) - exact_loss_db(parameter)).max() <= APPROXIMATION_DB


@pytest.mark.parametrize(
    ("height_m", "to_a_m", "to_b_m", "frequency_mhz", "parameter", "loss_db"),
    # ITU-R P.526 geometry, worked out in double precision
    [
        (1, 10, 20, 2440, 1.5626, 17.096),
        (1, 10, 20, 915, 0.9569, 13.644),
        (2, 15, 15, 868, 1.7574, 18.009),
        (-0.5, 10, 20, 2440, -0.7813, 0),
    ],
)
def test_geometry(height_m, to_a_m, to_b_m, frequency_mhz, parameter, loss_db):
    computed = diffraction_parameter(height_m, to_a_m, to_b_m, frequency_mhz)
    assert computed == pytest.approx(parameter, abs=HALF_LAST_DIGIT)
    loss = obstacle_loss_db(height_m, to_a_m, to_b_m, frequency_mhz)
    assert loss == pytest.approx(loss_db, abs=LAST_PRINTED_DIGIT_DB)
