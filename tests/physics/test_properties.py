"""Properties of the formulas: monotone, linear in dB, the same for numbers and arrays."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from showplan.physics.catalogue import catalogue
from showplan.physics.decibels import add_powers_dbm, db_from_ratio, dbm_from_mw, mw_from_dbm, ratio_from_db
from showplan.physics.field_strength import eirp_from_field_strength_dbm
from showplan.physics.free_space import free_space_loss_db, wavelength_m
from showplan.physics.fresnel import fresnel_radius_m
from showplan.physics.link_budget import eirp_dbm, link_margin_db, received_power_dbm
from showplan.physics.log_distance import log_distance_loss_db
from showplan.physics.multiwall import floor_loss_db, walls_loss_db
from showplan.physics.noise import thermal_noise_dbm
from showplan.physics.polarisation import polarisation_loss_db
from showplan.physics.slab import slab_loss_db

ROUNDING_DB = 1e-9  # dB
distances_m = st.floats(1, 1e5)
frequencies_mhz = st.floats(100, 6000)
exponents = st.floats(1.5, 5)
powers_dbm = st.floats(-150, 50)
factors = st.floats(1.001, 100)


@given(distances_m, factors, frequencies_mhz, exponents)
def test_loss_grows_with_distance(distance_m, factor, frequency_mhz, exponent):
    assert free_space_loss_db(distance_m * factor, frequency_mhz) > free_space_loss_db(distance_m, frequency_mhz)
    assert log_distance_loss_db(distance_m * factor, frequency_mhz, exponent) > log_distance_loss_db(
        distance_m, frequency_mhz, exponent
    )


@given(distances_m, frequencies_mhz, factors)
def test_loss_grows_with_frequency(distance_m, frequency_mhz, factor):
    assert free_space_loss_db(distance_m, frequency_mhz * factor) > free_space_loss_db(distance_m, frequency_mhz)


@given(distances_m, frequencies_mhz, exponents)
def test_a_decade_of_distance(distance_m, frequency_mhz, exponent):
    step_db = free_space_loss_db(10 * distance_m, frequency_mhz) - free_space_loss_db(distance_m, frequency_mhz)
    assert step_db == pytest.approx(20, abs=ROUNDING_DB)
    step_db = log_distance_loss_db(10 * distance_m, frequency_mhz, exponent) - log_distance_loss_db(
        distance_m, frequency_mhz, exponent
    )
    assert step_db == pytest.approx(10 * exponent, abs=ROUNDING_DB)


@given(distances_m, frequencies_mhz)
def test_exponent_two_is_free_space(distance_m, frequency_mhz):
    assert log_distance_loss_db(distance_m, frequency_mhz, 2) == pytest.approx(
        free_space_loss_db(distance_m, frequency_mhz), abs=ROUNDING_DB
    )


@given(st.floats(-10, 1), frequencies_mhz)
def test_near_distances_count_as_one_metre(distance_m, frequency_mhz):
    assert free_space_loss_db(distance_m, frequency_mhz) == free_space_loss_db(1, frequency_mhz)
    assert log_distance_loss_db(distance_m, frequency_mhz, 3) == free_space_loss_db(1, frequency_mhz)


@given(powers_dbm, st.floats(-100, 100))
def test_decibels_go_there_and_back(power_dbm, level_db):
    assert dbm_from_mw(mw_from_dbm(power_dbm)) == pytest.approx(power_dbm, abs=ROUNDING_DB)
    assert db_from_ratio(ratio_from_db(level_db)) == pytest.approx(level_db, abs=ROUNDING_DB)


@given(powers_dbm, powers_dbm)
def test_powers_add_in_milliwatts(first_dbm, second_dbm):
    total_mw = mw_from_dbm(first_dbm) + mw_from_dbm(second_dbm)
    assert add_powers_dbm(first_dbm, second_dbm) == pytest.approx(dbm_from_mw(total_mw), abs=ROUNDING_DB)
    assert add_powers_dbm(first_dbm, second_dbm) == add_powers_dbm(second_dbm, first_dbm)


def test_no_power_adds_nothing():
    assert add_powers_dbm(-80, -np.inf) == pytest.approx(-80, abs=ROUNDING_DB)


@given(powers_dbm, st.floats(0.1, 100), st.floats(0, 140))
def test_more_power_is_the_same_more_margin(power_dbm, more_db, loss_db):
    before = link_margin_db(received_power_dbm(power_dbm, 0, 0, loss_db), -95)
    after = link_margin_db(received_power_dbm(power_dbm + more_db, 0, 0, loss_db), -95)
    assert after - before == pytest.approx(more_db, abs=ROUNDING_DB)
    assert eirp_dbm(power_dbm, 0, more_db) == pytest.approx(power_dbm - more_db, abs=ROUNDING_DB)


@given(st.integers(0, 20), st.integers(1, 20), st.floats(0, 30))
def test_walls_add_up_and_floors_level_off(count, more, loss_db):
    assert walls_loss_db(count + more, loss_db) == pytest.approx(
        walls_loss_db(count, loss_db) + walls_loss_db(more, loss_db)
    )
    assert floor_loss_db(count + 1, loss_db) >= floor_loss_db(count, loss_db)
    assert floor_loss_db(count, loss_db) <= 1.1 * count * loss_db


@given(st.floats(0.01, 100), st.floats(0, 20))
def test_noise_scales_with_bandwidth(bandwidth_mhz, noise_figure_db):
    floor_dbm = thermal_noise_dbm(bandwidth_mhz)
    assert thermal_noise_dbm(10 * bandwidth_mhz) - floor_dbm == pytest.approx(10, abs=ROUNDING_DB)
    assert thermal_noise_dbm(bandwidth_mhz, noise_figure_db) - floor_dbm == pytest.approx(
        noise_figure_db, abs=ROUNDING_DB
    )


@given(st.floats(1e-3, 1e3), st.floats(1, 100))
def test_field_strength_and_distance_count_alike(field_mv_per_m, distance_m):
    base_dbm = eirp_from_field_strength_dbm(field_mv_per_m, distance_m)
    for changed in (
        eirp_from_field_strength_dbm(10 * field_mv_per_m, distance_m),
        eirp_from_field_strength_dbm(field_mv_per_m, 10 * distance_m),
    ):
        assert changed - base_dbm == pytest.approx(20, abs=ROUNDING_DB)


@given(st.floats(0, 360))
def test_polarisation_is_even_periodic_and_capped(mismatch_deg):
    loss_db = polarisation_loss_db(mismatch_deg)
    assert 0 <= loss_db <= 20 + ROUNDING_DB
    assert polarisation_loss_db(-mismatch_deg) == pytest.approx(loss_db, abs=1e-6)
    assert polarisation_loss_db(mismatch_deg + 180) == pytest.approx(loss_db, abs=1e-6)


@given(st.floats(1, 1000), st.floats(1, 1000), frequencies_mhz)
def test_fresnel_zone_is_symmetric_and_widest_in_the_middle(near_m, far_m, frequency_mhz):
    radius_m = fresnel_radius_m(near_m, far_m, frequency_mhz)
    middle_m = (near_m + far_m) / 2
    assert fresnel_radius_m(far_m, near_m, frequency_mhz) == pytest.approx(radius_m)
    assert radius_m <= fresnel_radius_m(middle_m, middle_m, frequency_mhz) * (1 + 1e-12)


@given(frequencies_mhz, st.floats(1, 20), st.floats(0, 1))
def test_no_slab_no_loss(frequency_mhz, permittivity, conductivity):
    assert slab_loss_db(frequency_mhz, 0, permittivity, conductivity) == pytest.approx(0, abs=ROUNDING_DB)


@given(frequencies_mhz, st.floats(0, 1), st.floats(1, 20))
def test_a_lossless_slab_passes_all_at_half_a_wavelength(frequency_mhz, thickness_m, permittivity):
    half_wave_m = wavelength_m(frequency_mhz) / np.sqrt(permittivity) / 2
    assert slab_loss_db(frequency_mhz, half_wave_m, permittivity) == pytest.approx(0, abs=1e-6)
    assert slab_loss_db(frequency_mhz, thickness_m, permittivity) >= -ROUNDING_DB


def test_slab_loss_is_not_monotone_in_thickness():
    # thin-film resonance, ITU-R P.2040 wood at 2440 MHz: 20 mm loses more than 40 mm
    assert slab_loss_db(2440, 0.020, 1.99, 0.01223) > slab_loss_db(2440, 0.040, 1.99, 0.01223)


def test_a_slab_far_beyond_any_wall_stays_finite():
    assert 1000 < slab_loss_db(2440, 100, 5, 1e8) < 1e5


def inside(parameter):
    """Values in the validity range of a parameter."""
    low = parameter.low if parameter.low is not None else parameter.minimum
    low = low if low is not None else (parameter.above or 0) + 0.1
    high = parameter.high if parameter.high is not None else low + 1000
    if parameter.whole_number:
        return st.integers(int(low), int(high))
    return st.floats(low, high, allow_subnormal=False)


@pytest.mark.parametrize("name", catalogue())
@given(data=st.data())
def test_arrays_equal_numbers(name, data):
    wanted = catalogue()[name]
    rows = data.draw(
        st.lists(st.tuples(*(inside(parameter) for parameter in wanted.parameters)), min_size=1, max_size=3)
    )
    numbers = [wanted.function(*row) for row in rows]
    assume(all(np.isfinite(numbers)))
    array = wanted.function(*(np.array(column, dtype=float) for column in zip(*rows, strict=True)))
    assert all(type(number) is float for number in numbers)
    assert isinstance(array, np.ndarray)
    assert array.shape == (len(rows),)
    assert array == pytest.approx(np.array(numbers), rel=1e-9, abs=1e-9)


def test_two_dimensions_broadcast_and_keep_single_precision():
    distances = np.array([[1.0, 10.0, 100.0]], dtype=np.float32)
    exponents = np.array([[2.0], [3.0]], dtype=np.float32)
    loss_db = log_distance_loss_db(distances, 868.3, exponents)
    assert loss_db.shape == (2, 3)
    assert loss_db.dtype == np.float32
