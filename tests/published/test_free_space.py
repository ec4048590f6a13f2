"""Free space against ITU-R P.525 (form from memory; three independent calculators gave these figures)."""

import numpy as np
import pytest

from showplan.physics.field_strength import eirp_from_field_strength_dbm
from showplan.physics.free_space import free_space_loss_db, wavelength_m
from showplan.physics.log_distance import log_distance_loss_db
from tests.published.tolerances import HUNDREDTH_DB, TEN_MICROMETRES_M

DISTANCES_M = (1, 10, 50, 100, 300)
# MHz: (wavelength in m, losses in dB at DISTANCES_M); ITU-R P.525
P525 = {
    868: (0.34538, (31.218, 51.218, 65.198, 71.218, 80.761)),
    915: (0.32764, (31.676, 51.676, 65.656, 71.676, 81.219)),
    920: (0.32586, (31.724, 51.724, 65.703, 71.724, 81.266)),
    2440: (0.12287, (40.196, 60.196, 74.175, 80.196, 89.738)),
}


@pytest.mark.parametrize("frequency_mhz", P525)
def test_wavelength(frequency_mhz):
    assert wavelength_m(frequency_mhz) == pytest.approx(P525[frequency_mhz][0], abs=TEN_MICROMETRES_M)


@pytest.mark.parametrize("frequency_mhz", P525)
def test_loss_at_every_distance(frequency_mhz):
    computed = free_space_loss_db(np.array(DISTANCES_M, dtype=float), frequency_mhz)
    assert computed == pytest.approx(np.array(P525[frequency_mhz][1]), abs=HUNDREDTH_DB)


@pytest.mark.parametrize(
    ("distance_m", "frequency_mhz", "constant_db"),
    # ITU-R P.525 constants: m and MHz; km and MHz; km and GHz
    [(1, 1, -27.5522), (1000, 1, 32.4478), (1000, 1000, 92.4478)],
)
def test_constants_of_the_rounded_forms(distance_m, frequency_mhz, constant_db):
    assert free_space_loss_db(distance_m, frequency_mhz) == pytest.approx(constant_db, abs=HUNDREDTH_DB)


@pytest.mark.parametrize(
    ("field_mv_per_m", "limit_eirp_dbm"),
    # 47 CFR 15.249(a), (c) at 3 m: 50 mV/m fundamental, 500 uV/m harmonics
    [(50, -1.249), (0.5, -41.249)],
)
def test_field_strength_limits_as_eirp(field_mv_per_m, limit_eirp_dbm):
    computed = eirp_from_field_strength_dbm(field_mv_per_m, 3)
    assert computed == pytest.approx(limit_eirp_dbm, abs=HUNDREDTH_DB)


def test_log_distance_with_the_exponent_of_a_published_fit():
    # textbook "Wireless Communications", 2005, examples 2.3 to 2.6, from memory: 900 MHz, n = 3.71,
    # free space at 1 m (K = -31.54 dB), 0 dBm sent: -112.273 dBm at 150 m
    assert -log_distance_loss_db(1, 900, 3.71) == pytest.approx(-31.54, abs=HUNDREDTH_DB)
    assert -log_distance_loss_db(150, 900, 3.71) == pytest.approx(-112.273, abs=HUNDREDTH_DB)
