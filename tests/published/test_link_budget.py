"""Two whole link budgets (worked by hand from ITU-R P.525, k T B and IEEE 802.15.4 sensitivities)."""

import pytest

from showplan.physics.free_space import free_space_loss_db
from showplan.physics.link_budget import link_margin_db, received_power_dbm
from showplan.physics.noise import thermal_noise_dbm
from showplan.reference import phys
from tests.published.tolerances import HUNDREDTH_DB

BUDGETS = {
    "oqpsk-2450": {
        "frequency_mhz": 2440,
        "sent": (0, 0, 2.15),
        "distance_m": 30,
        "free_space_db": 69.738,
        "walls_db": 13.7,
        "other_db": 10 + 3,
        "received_dbm": -94.288,
        "noise_dbm": -104.965,
        "snr_db": 10.677,
        "standard_margin_db": -9.288,
        "required_snr_db": 1.1,
        "noise_margin_db": 9.577,
    },
    "bpsk-868": {
        "frequency_mhz": 868.3,
        "sent": (13.979, -2, 2.15),
        "distance_m": 60,
        "free_space_db": 66.784,
        "walls_db": 10.3,
        "other_db": 6 + 3,
        "received_dbm": -71.954,
        "noise_dbm": -110.193,
        "snr_db": 38.239,
        "standard_margin_db": 20.046,
        "required_snr_db": 5,
        "noise_margin_db": 33.239,
    },
}
NOISE_FIGURE_DB = 6  # dB, data sheet of one 802.15.4 part


@pytest.mark.parametrize("phy_key", BUDGETS)
def test_whole_budget(phy_key):
    expected = BUDGETS[phy_key]
    phy = phys()[phy_key]
    free_space_db = free_space_loss_db(expected["distance_m"], expected["frequency_mhz"])
    received = received_power_dbm(
        *expected["sent"], free_space_db + expected["walls_db"], other_losses_db=expected["other_db"]
    )
    noise = thermal_noise_dbm(phy.noise_bandwidth_mhz, NOISE_FIGURE_DB)
    needed = noise + expected["required_snr_db"]
    computed = {
        "free_space_db": free_space_db,
        "received_dbm": received,
        "noise_dbm": noise,
        "snr_db": received - noise,
        "standard_margin_db": link_margin_db(received, phy.required_sensitivity_dbm),
        "noise_margin_db": link_margin_db(received, needed),
    }
    assert computed == pytest.approx({name: expected[name] for name in computed}, abs=HUNDREDTH_DB)


def test_fade_margin_comes_off_the_margin():
    assert link_margin_db(-80, -92, 7) == pytest.approx(5)
