"""Thermal noise k T B at 290 K (formula from memory) and sums of powers."""

import pytest

from showplan.physics.decibels import add_powers_dbm
from showplan.physics.noise import thermal_noise_dbm
from tests.published.tolerances import HUNDREDTH_DB

ONE_HERTZ_MHZ = 1e-6


@pytest.mark.parametrize(
    ("bandwidth_mhz", "noise_dbm"),
    [(0.6, -116.194), (1, -113.975), (1.2, -113.183), (2, -110.965), (5, -106.985), (20, -100.965)],
)
def test_noise_by_bandwidth(bandwidth_mhz, noise_dbm):
    assert thermal_noise_dbm(bandwidth_mhz) == pytest.approx(noise_dbm, abs=HUNDREDTH_DB)


@pytest.mark.parametrize(("temperature_k", "density_dbm"), [(290, -173.975), (300, -173.828)])
def test_noise_density(temperature_k, density_dbm):
    computed = thermal_noise_dbm(ONE_HERTZ_MHZ, temperature_k=temperature_k)
    assert computed == pytest.approx(density_dbm, abs=HUNDREDTH_DB)


def test_three_equal_interferers():
    # derived: 10 log 3 above one of them
    computed = add_powers_dbm(add_powers_dbm(-80, -80), -80)
    assert computed == pytest.approx(-75.229, abs=HUNDREDTH_DB)
