"""Mismatch of two linear antennas, -20 log cos (from memory; one independent calculator agrees)."""

import pytest

from showplan.physics.polarisation import polarisation_loss_db
from tests.published.tolerances import HUNDREDTH_DB


@pytest.mark.parametrize(
    ("mismatch_deg", "loss_db"),
    [(0, 0), (10, 0.133), (30, 1.249), (45, 3.010), (60, 6.021), (75, 11.740), (80, 15.207)],
)
def test_mismatch(mismatch_deg, loss_db):
    assert polarisation_loss_db(mismatch_deg) == pytest.approx(loss_db, abs=HUNDREDTH_DB)


@pytest.mark.parametrize("mismatch_deg", [85, 90, 95])
def test_cap_from_memory(mismatch_deg):
    # 85 degrees would be 21.194 dB; crossed antennas indoors are capped at 15 to 20 dB
    assert polarisation_loss_db(mismatch_deg) == pytest.approx(20.0, abs=HUNDREDTH_DB)
