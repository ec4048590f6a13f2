"""Fits of path-loss models against worked examples, measured sets and statsmodels."""

import numpy as np
import pytest
import statsmodels.api

from showplan.planner.fitting import Priors, fit

LAST_PRINTED_DIGIT = 0.00006  # of figures printed to a ten-thousandth
THOUSANDTH = 0.0006  # of figures printed to a thousandth

# Worked example, "Wireless Communications", 2005, examples 2.3 to 2.6: indoor, 900 MHz; data from memory,
# the results 3.71 and 3.65 read in a public source file.
BOOK_DISTANCE_M = np.array([10.0, 20.0, 50.0, 100.0, 300.0])
BOOK_LOSS_DB = np.array([70.0, 75.0, 90.0, 110.0, 125.0])
BOOK_REFERENCE_LOSS_DB = 31.54  # free space at 1 m


def slope(distance_m):
    return np.column_stack([np.ones(len(distance_m)), 10 * np.log10(distance_m)])


def least_squares(design, loss_db, priors=None):
    priors = priors or Priors.none(design.shape[1])
    return fit(design, loss_db, priors, np.zeros(len(loss_db), dtype=bool), is_robust=False)


def rms(values):
    return float(np.sqrt((values**2).mean()))


def test_worked_example_with_fixed_intercept() -> None:
    priors = Priors(np.array([BOOK_REFERENCE_LOSS_DB, 0.0]), np.array([0.0, np.inf]), np.full(2, -np.inf))
    found = least_squares(slope(BOOK_DISTANCE_M), BOOK_LOSS_DB, priors)
    assert found.values[1] == pytest.approx(3.7082, abs=LAST_PRINTED_DIGIT)  # the book: 3.71
    assert rms(found.residuals) == pytest.approx(3.645, abs=THOUSANDTH)  # divides by N; the book: 3.65
    assert found.sigma_db == pytest.approx(4.076, abs=THOUSANDTH)  # divides by N - 1; derived
    assert found.standard_errors[0] == 0.0


def test_worked_example_with_free_intercept() -> None:
    """Derived from the same data."""
    found = least_squares(slope(BOOK_DISTANCE_M), BOOK_LOSS_DB)
    assert found.values == pytest.approx([26.744, 3.9669], abs=THOUSANDTH)
    assert rms(found.residuals) == pytest.approx(3.365, abs=THOUSANDTH)
    assert found.sigma_db == pytest.approx(4.344, abs=THOUSANDTH)


# Synthetic multi-wall case: distance m, light walls, heavy walls, floors, received dBm for 0 dBm sent. The expected
# values are ordinary least squares by numpy and by statsmodels, which agree. Truth: 40.2, 2.1, 3.6, 7.5, 16.0.
CASE_1 = np.array(
    [
        [2, 0, 0, 0, -46],
        [5, 0, 0, 0, -57],
        [10, 0, 0, 0, -61],
        [20, 0, 0, 0, -66],
        [8, 1, 0, 0, -64],
        [15, 1, 0, 0, -67],
        [12, 2, 0, 0, -70],
        [10, 0, 1, 0, -71],
        [18, 0, 2, 0, -81],
        [20, 1, 1, 0, -79],
        [25, 2, 1, 0, -82],
        [6, 0, 0, 1, -74],
        [12, 0, 0, 1, -80],
        [18, 1, 0, 1, -86],
    ],
    dtype=float,
)
CASE_1_DESIGN = np.column_stack([slope(CASE_1[:, 0]), CASE_1[:, 1:4]])
CASE_1_TRUTH = np.array([40.2, 2.1, 3.6, 7.5, 16.0])


def test_multi_wall_case() -> None:
    found = least_squares(CASE_1_DESIGN, -CASE_1[:, 4])
    assert found.values == pytest.approx([42.3158, 1.8972, 3.2606, 7.8336, 16.9137], abs=LAST_PRINTED_DIGIT)
    assert found.standard_errors == pytest.approx([1.4944, 0.1671, 0.5941, 0.7300, 0.9827], abs=LAST_PRINTED_DIGIT)
    assert found.sigma_db == pytest.approx(1.3636, abs=LAST_PRINTED_DIGIT)
    assert rms(found.residuals) == pytest.approx(1.0933, abs=LAST_PRINTED_DIGIT)
    assert found.condition_number == pytest.approx(45.73, abs=0.005)
    assert (np.abs(found.values - CASE_1_TRUTH) < 1.5 * found.standard_errors).all()


def test_multi_wall_case_without_noise() -> None:
    found = least_squares(CASE_1_DESIGN, CASE_1_DESIGN @ CASE_1_TRUTH)
    assert found.values == pytest.approx(CASE_1_TRUTH, abs=1e-9)


# Measured: RSSI-Dataset-for-Indoor-Localization-Fingerprinting, commit 35e0689, path-loss sheets of scenarios 1, 2.
MEASURED_M = np.array([0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5])
ROOM_1_802_15_4 = [29, 36, 31, 34, 34, 43, 38, 44, 50, 49, 59, 67, 62, 64, 69, 72, 67, 70]
ROOM_1_2450_OFDM = [21, 24, 34, 37, 34, 37, 55, 56, 47, 40, 64, 51, 49, 58, 58, 58, 56, 53]
ROOM_2_802_15_4 = [30, 33, 41, 41, 48, 51, 55, 59, 57, 63, 56, 59, 55, 64, 57, 68, 64, 58]


@pytest.mark.parametrize(
    ("minus_dbm", "intercept", "exponent", "rmse_db", "sigma_db", "error"),
    # Derived by numpy from the measured set; the second row equals the published fit, arXiv 2005.01877: -45.73, 2.162.
    [
        (ROOM_1_802_15_4, 50.331, 2.9348, 4.573, 4.851, 0.238),
        (ROOM_1_2450_OFDM, 45.729, 2.1622, 6.526, 6.922, 0.339),
        (ROOM_2_802_15_4, 52.845, 1.8969, 5.044, 5.350, 0.262),
    ],
)
def test_measured_rooms(minus_dbm, intercept, exponent, rmse_db, sigma_db, error) -> None:
    found = least_squares(slope(MEASURED_M), np.array(minus_dbm, dtype=float))
    assert found.values[0] == pytest.approx(intercept, abs=THOUSANDTH)
    assert found.values[1] == pytest.approx(exponent, abs=LAST_PRINTED_DIGIT)
    assert rms(found.residuals) == pytest.approx(rmse_db, abs=THOUSANDTH)
    assert found.sigma_db == pytest.approx(sigma_db, abs=THOUSANDTH)
    assert found.standard_errors[1] == pytest.approx(error, abs=THOUSANDTH)


@pytest.mark.parametrize(
    ("minus_dbm", "intercept", "exponent", "rmse_db"),
    [(ROOM_1_802_15_4, 48.64, 3.535, 3.55), (ROOM_2_802_15_4, 56.04, 0.972, 3.97)],
)
def test_measured_rooms_without_the_near_points(minus_dbm, intercept, exponent, rmse_db) -> None:
    """Derived by numpy from the same set, 0.5 m and more."""
    far = MEASURED_M >= 0.5
    found = least_squares(slope(MEASURED_M[far]), np.array(minus_dbm, dtype=float)[far])
    assert found.values[0] == pytest.approx(intercept, abs=0.006)
    assert found.values[1] == pytest.approx(exponent, abs=0.0006)
    assert rms(found.residuals) == pytest.approx(rmse_db, abs=0.006)


# Measured: RSSI-Dataset, commit d7fd9bd, office 1, sub-GHz chirp radio (its readme states no band): metres, dBm.
OFFICE_M = [0.471, 0.5, 0.5, 0.707, 0.707, 0.707, 0.745, 0.745, 1.118, 1.414, 1.5, 1.5, 2.121, 2.121, 2.121]
OFFICE_M += [2.236, 2.236, 2.357, 2.5, 2.5, 3.354, 3.536, 3.536, 3.536, 3.727, 3.727, 5.590]
OFFICE_DBM = [-30.80, -24.08, -23.97, -31.15, -28.32, -25.14, -24.32, -24.32, -28.67, -29.02, -26.64, -26.31, -33.61]
OFFICE_DBM += [-33.26, -30.40, -37.17, -32.07, -35.27, -37.05, -36.88, -37.74, -38.54, -36.48, -36.08, -37.49]
OFFICE_DBM += [-32.41, -38.18]


def test_measured_office_at_short_range() -> None:
    """Derived by numpy from the set: below free space's 2, as near saturation, so nothing to extrapolate from."""
    found = least_squares(slope(np.array(OFFICE_M)), -np.array(OFFICE_DBM))
    assert found.values[0] == pytest.approx(28.82, abs=0.006)
    assert found.values[1] == pytest.approx(1.326, abs=THOUSANDTH)
    assert rms(found.residuals) == pytest.approx(2.71, abs=0.006)


@pytest.mark.parametrize("seed", range(20))
def test_agrees_with_statsmodels(seed: int) -> None:
    """statsmodels' ordinary least squares, intervals included."""
    random = np.random.default_rng(seed)
    design = np.column_stack([slope(10 ** random.uniform(0, 2, 25)), random.integers(0, 3, (25, 3))])
    loss_db = design @ CASE_1_TRUTH + random.normal(0, 5, 25)
    found, other = least_squares(design, loss_db), statsmodels.api.OLS(loss_db, design).fit()
    np.testing.assert_allclose(found.values, other.params, rtol=1e-7)
    np.testing.assert_allclose(found.standard_errors, other.bse, rtol=1e-7)
    np.testing.assert_allclose(found.covariance, other.cov_params(), rtol=1e-6)
    np.testing.assert_allclose(found.interval(0.95), other.conf_int(0.05), rtol=1e-6, atol=1e-6)
    assert found.sigma_db**2 == pytest.approx(other.scale, rel=1e-7)
    assert found.left_out_residuals == pytest.approx(other.get_influence().resid_press, rel=1e-6)
