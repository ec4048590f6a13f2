"""Default exponents and shadowing, body losses: against the tables they were taken from."""

import pytest

from showplan.reference import body_loss_db, body_losses, environments


@pytest.mark.parametrize(
    ("key", "exponent", "sigma_db", "standing"),
    [
        ("open-air", 2.0, 4.0, "memory"),  # free space; sigma is common practice, no source
        ("hall-clear-view", 2.15, 4.3, "read"),  # 3GPP TR 38.901 v19.4.0 Table 7.4.1-1, InF LoS
        ("theatre-hall", 2.55, 5.7, "read"),  # same, InF sparse clutter, low
        ("dense-scenery", 3.57, 7.2, "read"),  # same, InF dense clutter, low
        ("office", 2.46, 5.04, "read"),  # ITU-R P.1238-11 Table 2, office NLoS, single source
        ("corridor-clear-view", 1.63, 4.07, "read"),  # same, corridor LoS
        ("corridor-gallery", 2.77, 7.63, "read"),  # same, corridor NLoS
    ],
)
def test_environment(key, exponent, sigma_db, standing):
    environment = environments()[key]
    assert (environment.path_loss_exponent, environment.shadowing_sigma_db) == (exponent, sigma_db)
    assert environment.standing == standing


@pytest.mark.parametrize(
    ("frequency_mhz", "posture", "loss_db"),
    # engineering guess, from memory
    [
        (868.3, "facing", 3),
        (915, "side", 6),
        (922, "blocked", 12),
        (2440, "facing", 5),
        (2440, "side", 8),
        (2480, "blocked", 20),
    ],
)
def test_body_loss(frequency_mhz, posture, loss_db):
    assert body_loss_db(frequency_mhz, posture) == loss_db


def test_body_losses_stay_marked_as_remembered():
    assert {row.standing for row in body_losses()} == {"memory"}
