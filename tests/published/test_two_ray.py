"""Flat ground: two rays, plane earth, breakpoint; antennas at 3 m and 1.5 m."""

import math

import pytest

from showplan.physics.free_space import free_space_loss_db
from showplan.physics.two_ray import breakpoint_distance_m, plane_earth_loss_db, two_ray_loss_db
from tests.published.tolerances import HUNDREDTH_DB, LAST_PRINTED_DIGIT_DB

ONE_CENTIMETRE_M = 0.01  # m


@pytest.mark.parametrize(
    ("frequency_mhz", "losses_db"),
    # derived: direct and reflected ray with coefficient -1, at 20, 50, 100, 200, 300, 1000 m along the ground
    [
        (915, (52.73, 59.75, 68.05, 79.25, 86.14, 106.95)),
        (2440, (60.87, 68.24, 76.73, 80.99, 86.89, 107.01)),
    ],
)
def test_two_rays(frequency_mhz, losses_db):
    for distance_m, loss_db in zip((20, 50, 100, 200, 300, 1000), losses_db, strict=True):
        assert two_ray_loss_db(distance_m, frequency_mhz, 3, 1.5) == pytest.approx(loss_db, abs=HUNDREDTH_DB)


@pytest.mark.parametrize(("distance_m", "loss_db"), [(1000, 106.936), (300, 86.021)])
def test_plane_earth(distance_m, loss_db):
    # formula from memory; the model of a public network simulator gives the same
    assert plane_earth_loss_db(distance_m, 3, 1.5) == pytest.approx(loss_db, abs=LAST_PRINTED_DIGIT_DB)


@pytest.mark.parametrize(
    ("frequency_mhz", "breakpoint_m", "crossover_m"),
    # 4 h1 h2 / lambda from memory; crossover 4 pi h1 h2 / lambda read in a simulator's documentation
    [(868, 52.12, 163.73), (915, 54.94, 172.59), (2440, 146.50, 460.25)],
)
def test_breakpoint(frequency_mhz, breakpoint_m, crossover_m):
    computed_m = breakpoint_distance_m(frequency_mhz, 3, 1.5)
    assert computed_m == pytest.approx(breakpoint_m, abs=ONE_CENTIMETRE_M)
    assert math.pi * computed_m == pytest.approx(crossover_m, abs=ONE_CENTIMETRE_M)
    # there free space and plane earth agree
    plane_earth_db = plane_earth_loss_db(crossover_m, 3, 1.5)
    assert free_space_loss_db(crossover_m, frequency_mhz) == pytest.approx(plane_earth_db, abs=HUNDREDTH_DB)
