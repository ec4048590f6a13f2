"""Log-normal availability P = Phi(margin / sigma) (textbook form, from memory; computed figures)."""

import pytest

from showplan.physics.shadowing import lognormal_availability

LAST_PRINTED_DIGIT = 0.000006  # probability, for figures printed to five places


@pytest.mark.parametrize(
    ("margin_db", "sigma_4", "sigma_8", "sigma_10"),
    [
        (5, 0.89435, 0.73401, 0.69146),
        (8, 0.97725, 0.84134, 0.78814),
        (10, 0.99379, 0.89435, 0.84134),
        (15, 0.99991, 0.96960, 0.93319),
        (20, 1.00000, 0.99379, 0.97725),
    ],
)
def test_availability(margin_db, sigma_4, sigma_8, sigma_10):
    computed = [lognormal_availability(margin_db, sigma_db) for sigma_db in (4, 8, 10)]
    assert computed == pytest.approx([sigma_4, sigma_8, sigma_10], abs=LAST_PRINTED_DIGIT)


@pytest.mark.parametrize(
    ("sigma_db", "margins_db"),
    # margins for 90, 95, 99 and 99.9 %
    [
        (3.76, (4.819, 6.185, 8.747, 11.619)),
        (5, (6.408, 8.224, 11.632, 15.451)),
        (8, (10.252, 13.159, 18.611, 24.722)),
        (10, (12.816, 16.449, 23.263, 30.902)),
    ],
)
def test_margin_for_an_availability(sigma_db, margins_db):
    computed = [lognormal_availability(margin_db, sigma_db) for margin_db in margins_db]
    assert computed == pytest.approx([0.90, 0.95, 0.99, 0.999], abs=0.0001)
