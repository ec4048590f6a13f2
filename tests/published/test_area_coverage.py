"""Share of a disc that is served (textbook form, from memory), and the same by integration."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ndtr

from showplan.physics.fading import disc_coverage
from tests.published.tolerances import LAST_PRINTED_DIGIT_DB

FOURTH_PLACE = 0.00006  # probability, for figures printed to four places
QUARTILE = 0.6744898  # z of 75 %


@pytest.mark.parametrize(
    ("edge_margin_db", "exponent", "sigma_db", "coverage"),
    # formula and numerical integral agree; the often repeated 94 % for the first case follows from neither
    [(QUARTILE * 8, 4, 8, 0.9073), (QUARTILE * 8, 2, 8, 0.8620), (0, 4, 8, 0.7728)],
)
def test_edge_to_area(edge_margin_db, exponent, sigma_db, coverage):
    assert disc_coverage(edge_margin_db, exponent, sigma_db) == pytest.approx(coverage, abs=FOURTH_PLACE)


@pytest.mark.parametrize(("least_dbm", "coverage"), [(-110, 0.5979), (-120, 0.9881)])
def test_textbook_cell(least_dbm, coverage):
    # "Wireless Communications", 2005, data of examples 2.3 to 2.6 (from memory): 600 m, 20 dBm, n 3.71, sigma 3.65
    edge_dbm = 20 - 31.54 - 10 * 3.71 * np.log10(600)
    assert edge_dbm == pytest.approx(-114.610, abs=LAST_PRINTED_DIGIT_DB)
    assert disc_coverage(edge_dbm - least_dbm, 3.71, 3.65) == pytest.approx(coverage, abs=FOURTH_PLACE)


@pytest.mark.parametrize("edge_margin_db", [-200.0, -60.0, -20.0, -3.0, 0.0, 5.0, 60.0])
@pytest.mark.parametrize(("exponent", "sigma_db"), [(2, 2), (2, 12), (3.5, 6), (5, 1)])
def test_against_integration(edge_margin_db, exponent, sigma_db):
    # second opinion: mean of the availability over the disc's area, r in radii
    def ring(r):
        return 2 * r * float(ndtr((edge_margin_db - 10 * exponent * np.log10(r)) / sigma_db))

    expected, _ = quad(ring, 0, 1, epsabs=1e-12, limit=400, points=[0.001, 0.01, 0.1, 0.3, 0.6])
    assert disc_coverage(edge_margin_db, exponent, sigma_db) == pytest.approx(expected, abs=1e-7)
