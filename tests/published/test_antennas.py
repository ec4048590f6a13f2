"""Patterns against known directivities and beam widths (textbook figures, from memory)."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from showplan.physics.antennas import dipole_pattern_db, patch_directivity_dbi, patch_pattern_db
from showplan.physics.constants import ERP_TO_EIRP_DB
from tests.published.tolerances import HUNDREDTH_DB

HALF_POWER_DB = 10 * math.log10(0.5)
TENTH_OF_A_DB = 0.1  # dB, for beam widths printed to a degree


def test_half_wave_dipole_has_its_2_15_dbi():
    # gain of a half-wave dipole over an isotropic antenna, from memory: the figure between ERP and EIRP
    mean, _ = quad(lambda e: 10 ** (dipole_pattern_db(math.degrees(e)) / 10) * math.cos(e), 0, math.pi / 2)
    assert -10 * math.log10(mean) == pytest.approx(ERP_TO_EIRP_DB, abs=HUNDREDTH_DB)


@pytest.mark.parametrize(
    ("elevation_deg", "pattern_db"),
    # derived: cos(90 deg sin e) / cos e
    [(0, 0), (30, -1.761), (45, -4.041), (60, -7.586)],
)
def test_dipole(elevation_deg, pattern_db):
    assert dipole_pattern_db(elevation_deg) == pytest.approx(pattern_db, abs=HUNDREDTH_DB)
    assert dipole_pattern_db(-elevation_deg) == dipole_pattern_db(elevation_deg)


def test_dipole_beam_is_78_degrees_wide():
    # half-power beam width of a half-wave dipole, textbook figure from memory
    assert dipole_pattern_db(39) == pytest.approx(HALF_POWER_DB, abs=TENTH_OF_A_DB)


@pytest.mark.parametrize("exponent", [1, 2, 3.5, 8])
def test_patch_directivity_by_integration(exponent):
    # derived: the pattern without its back lobe, over the front half space
    share, _ = quad(
        lambda t: 10 ** (patch_pattern_db(math.degrees(t), exponent, 100) / 10) * math.sin(t), 0, math.pi / 2
    )
    assert patch_directivity_dbi(exponent) == pytest.approx(10 * math.log10(2 / share), abs=HUNDREDTH_DB)


def test_patch():
    # derived: cos^2 is half at 45 degrees, a quarter at 60; beyond 90 the back lobe
    computed = patch_pattern_db(np.array([0.0, 45.0, 60.0, 90.0, 135.0, 180.0]), 2, 15)
    assert computed == pytest.approx(np.array([0, -3.010, -6.021, -15, -15, -15]), abs=HUNDREDTH_DB)
