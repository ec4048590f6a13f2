"""ITU-R P.1238 indoor loss in both forms, and 3GPP TR 38.901 rows kept for comparison."""

import itertools

import numpy as np
import pytest

from showplan.physics.free_space import free_space_loss_db
from showplan.physics.indoor import alpha_beta_gamma_loss_db, below_free_space_db, site_general_loss_db
from showplan.reference.indoor import (
    alpha_beta_gamma,
    floor_loss,
    floor_losses,
    indoor_shadowing,
    power_loss,
    power_losses,
)
from showplan.reference.standing import OutsideTable, UnknownKey
from tests.published.tolerances import HUNDREDTH_DB, LAST_PRINTED_DIGIT_DB


@pytest.mark.parametrize(
    ("environment", "frequency_mhz", "distance_m", "floors", "loss_db"),
    # ITU-R P.1238 (editions up to about 9), formula worked out in double precision; rows at 2440 MHz marked
    # "simulator" agree with the model of a public network simulator
    [
        ("office", 900, 30, 0, 79.830),
        ("office", 900, 30, 1, 88.830),
        ("office", 900, 30, 3, 103.830),
        ("commercial", 900, 30, 0, 60.627),
        ("office", 868, 20, 0, 73.704),
        ("office", 915, 50, 0, 87.294),
        ("residential", 2440, 10, 0, 67.748),  # simulator
        ("residential", 2440, 30, 1, 85.107),  # simulator
        ("residential", 2440, 30, 2, 89.107),  # simulator
        ("office", 2440, 30, 0, 84.061),  # simulator
        ("office", 2440, 30, 1, 99.061),  # simulator
        ("office", 2440, 30, 2, 103.061),  # simulator
        ("commercial", 2440, 30, 0, 72.244),  # simulator
        ("commercial", 2440, 30, 1, 78.244),  # simulator
        ("commercial", 2440, 50, 2, 86.125),
    ],
)
def test_site_general_form(environment, frequency_mhz, distance_m, floors, loss_db):
    coefficient = power_loss(environment, frequency_mhz).power_loss_coefficient
    floors_db = floor_loss(environment, frequency_mhz).loss_db(floors) if floors else 0.0
    computed = site_general_loss_db(distance_m, frequency_mhz, coefficient, floors_db)
    assert computed == pytest.approx(loss_db, abs=LAST_PRINTED_DIGIT_DB)


def test_the_rounded_constant_lies_below_free_space():
    # ITU-R P.1238 rounds the constant to -28: 0.448 dB less than exact free space at N = 20
    rounded, exact = site_general_loss_db(1, 2440, 20), free_space_loss_db(1, 2440)
    assert exact - rounded == pytest.approx(0.448, abs=LAST_PRINTED_DIGIT_DB)


@pytest.mark.parametrize(
    ("environment", "frequency_mhz", "losses_db"),
    # ITU-R P.1238 floor penetration table, read in a public encyclopaedia page: for 1, 2, 3 floors
    [
        ("office", 900, (9, 19, 24)),
        ("residential", 1900, (4, 8, 12)),
        ("office", 1900, (15, 19, 23)),
        ("commercial", 1900, (6, 9, 12)),
        ("apartment", 2440, (10, 10, 10)),  # P.1238-7, public source file
    ],
)
def test_floor_terms(environment, frequency_mhz, losses_db):
    row = floor_loss(environment, frequency_mhz)
    assert row.loss_db(0) == 0
    assert tuple(row.loss_db(floors) for floors in (1, 2, 3)) == losses_db


def test_floors_beyond_the_published_ones_are_refused():
    # ITU-R P.1238: office 5.2 GHz one floor 16 dB; 5.8 GHz 22 and 28 dB (public encyclopaedia page)
    assert floor_loss("office", 5200).loss_db(1) == 16
    assert [floor_loss("office", 5800).loss_db(floors) for floors in (1, 2)] == [22, 28]
    with pytest.raises(OutsideTable, match="for 2 floors: ask for 0 to 1"):
        floor_loss("office", 5200).loss_db(2)
    with pytest.raises(OutsideTable, match="for 4 floors: ask for 0 to 3"):
        floor_loss("office", 900).loss_db(4)


@pytest.mark.parametrize(
    ("environment", "frequency_mhz", "coefficient", "standing"),
    [
        ("residential", 868.3, 33, "memory"),  # no published row: office figure taken
        ("residential", 1900, 28, "read"),  # P.1238, public encyclopaedia page
        ("residential", 2440, 28, "read"),  # P.1238-9 Table 2, public source file
        ("office", 900, 33, "read"),  # P.1238, public encyclopaedia page
        ("office", 1250, 32, "read"),  # same
        ("office", 1900, 30, "read"),  # same
        ("office", 2440, 30, "memory"),  # which column the 30 belongs to is from memory
        ("office", 5200, 31, "read"),  # P.1238, public encyclopaedia page
        ("commercial", 915, 20, "read"),  # same
        ("commercial", 1250, 22, "read"),  # same
        ("commercial", 1900, 22, "read"),  # same
        ("commercial", 2440, 22, "memory"),  # carried over from 1.8 to 2.0 GHz
        ("apartment", 5200, 30, "read"),  # P.1238, public encyclopaedia page
        ("house", 5200, 28, "read"),  # same
    ],
)
def test_power_loss_coefficients(environment, frequency_mhz, coefficient, standing):
    row = power_loss(environment, frequency_mhz)
    assert (row.power_loss_coefficient, row.standing) == (coefficient, standing)


def test_shadowing_stays_marked_as_remembered():
    # ITU-R P.1238 shadow fading at 1.8 to 2 GHz, from memory
    sigmas = {row.environment: row.shadowing_sigma_db for row in indoor_shadowing()}
    assert sigmas == {"residential": 8, "office": 10, "commercial": 10}
    assert {row.standing for row in indoor_shadowing()} == {"memory"}


P1238_11 = {
    # ITU-R P.1238-11 Table 2 (coefficients from one public script): dB at 868, 915, 2440 MHz for 10 m and 20 m
    "office-clear-view": ((47.97, 48.44, 57.08), (52.37, 52.83, 61.48)),
    "office-no-view": ((52.67, 53.21, 63.35), (60.07, 60.62, 70.76)),
    "corridor-clear-view": ((43.04, 43.55, 53.14), (47.94, 48.46, 58.04)),
    "corridor-no-view": ((55.45, 56.01, 66.58), (63.78, 64.35, 74.92)),
    "industrial-clear-view": ((46.35, 46.83, 55.60), (53.31, 53.78, 62.55)),
    "industrial-no-view": ((58.09, 58.39, 64.10), (69.50, 69.80, 75.51)),
}
TR_38_901 = {
    # 3GPP TR 38.901 v19.4.0 Table 7.4.1-1: dB at 915 and 2440 MHz for 10, 30, 100 m
    "inh-office-clear-view": ((48.93, 57.18, 66.23), (57.45, 65.70, 74.75)),
    "inh-office-no-view": ((54.64, 72.91, 92.94), (65.25, 83.52, 103.55)),
    "inf-clear-view": ((52.61, 62.87, 74.11), (60.70, 70.96, 82.20)),
    "inf-sparse-low": ((57.73, 69.90, 83.23), (66.25, 78.41, 91.75)),
    "inf-dense-low": ((57.73, 70.56, 89.23), (66.25, 79.08, 97.75)),
}


def row_loss_db(key, distance_m, frequency_mhz):
    """Loss of a row, held up by the row it may not go below."""
    row = alpha_beta_gamma()[key]
    loss_db = alpha_beta_gamma_loss_db(distance_m, frequency_mhz, row.alpha, row.beta_db, row.gamma)
    return np.maximum(loss_db, row_loss_db(row.at_least, distance_m, frequency_mhz)) if row.at_least else loss_db


@pytest.mark.parametrize("key", P1238_11)
def test_alpha_beta_gamma_form(key):
    frequency_mhz = np.array([868.0, 915.0, 2440.0])
    for distance_m, losses_db in zip((10, 20), P1238_11[key], strict=True):
        computed = row_loss_db(key, distance_m, frequency_mhz)
        assert computed == pytest.approx(np.array(losses_db), abs=HUNDREDTH_DB)
    assert alpha_beta_gamma()[key].use == "planning"


@pytest.mark.parametrize("key", TR_38_901)
def test_cross_check_family(key):
    distance_m = np.array([10.0, 30.0, 100.0])
    for frequency_mhz, losses_db in zip((915, 2440), TR_38_901[key], strict=True):
        computed = row_loss_db(key, distance_m, frequency_mhz)
        assert computed == pytest.approx(np.array(losses_db), abs=HUNDREDTH_DB)
    assert alpha_beta_gamma()[key].use == "cross-check"


@pytest.mark.parametrize(
    ("key", "sigma_db", "band_mhz", "range_m"),
    # ITU-R P.1238-11 Table 2, same single source
    [
        ("office-clear-view", 3.76, (300, 83_500), (2, 27)),
        ("office-no-view", 5.04, (300, 82_000), (4, 30)),
        ("corridor-clear-view", 4.07, (300, 83_500), (2, 160)),
        ("corridor-no-view", 7.63, (625, 83_500), (4, 94)),
        ("industrial-clear-view", 2.69, (625, 70_280), (2, 101)),
        ("industrial-no-view", 9.05, (625, 70_280), (5, 108)),
    ],
)
def test_ranges(key, sigma_db, band_mhz, range_m):
    row = alpha_beta_gamma()[key]
    found = (row.shadowing_sigma_db, (row.low_mhz, row.high_mhz), (row.nearest_m, row.furthest_m))
    assert found == (sigma_db, band_mhz, range_m)
    assert row.outside(range_m[1], band_mhz[0]) == ()
    distance_fault, frequency_fault = row.outside(range_m[1] + 1, band_mhz[0] - 1)
    assert f"{range_m[0]} to {range_m[1]} m of '{key}'" in distance_fault
    assert f"MHz of '{key}'" in frequency_fault


def test_a_corridor_guides_the_wave_below_free_space():
    # ITU-R P.525 at 915 MHz and 10 m: 51.676 dB; P.1238-11 corridor LoS 43.55 dB
    loss_db = row_loss_db("corridor-clear-view", 10, 915)
    assert below_free_space_db(loss_db, 10, 915) == pytest.approx(51.676 - 43.55, abs=HUNDREDTH_DB)
    assert below_free_space_db(row_loss_db("corridor-no-view", 10, 915), 10, 915) == 0


def test_look_ups_refuse_what_they_cannot_know():
    with pytest.raises(UnknownKey, match="unknown environment 'barn'; known: residential, apartment, house, office"):
        power_loss("barn", 2440)
    with pytest.raises(OutsideTable, match=r"'residential' at 868 MHz: the table holds 1800 to 2483\.5 MHz"):
        floor_loss("residential", 868)


@pytest.mark.parametrize("rows", [power_losses, floor_losses, indoor_shadowing])
def test_bands_of_one_environment_do_not_overlap(rows):
    found = sorted((row.environment, row.low_mhz, row.high_mhz) for row in rows())
    for (environment, _, high_mhz), (next_environment, next_low_mhz, _) in itertools.pairwise(found):
        assert environment != next_environment or high_mhz < next_low_mhz
