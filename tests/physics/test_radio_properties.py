"""Properties of the propagation, fading, error and relay formulas; the assumptions stay marked."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from showplan.physics.antennas import dipole_pattern_db, omni_pattern_db, patch_pattern_db
from showplan.physics.body import body_loss_mean_db, body_loss_quantile_db, body_loss_sigma_db
from showplan.physics.catalogue import catalogue, evaluate
from showplan.physics.error_rate import oqpsk_bit_error_rate, packet_error_rate, required_sinr_db
from showplan.physics.errors import BadParameters
from showplan.physics.fading import (
    availability,
    disc_coverage,
    fading_margin_db,
    margin_quantile_db,
    rayleigh_outage,
    rice_outage,
)
from showplan.physics.free_space import free_space_loss_db
from showplan.physics.indoor import alpha_beta_gamma_loss_db, site_general_loss_db
from showplan.physics.interference import interference_after_rejection_dbm, overlap_share, sinr_db
from showplan.physics.knife_edge import knife_edge_loss_db, obstacle_loss_db, through_or_over_loss_db
from showplan.physics.retries import (
    acknowledged_with_retries,
    delivery_with_retries,
    expected_transmissions,
    mean_attempts,
    relayed_delivery,
)
from showplan.physics.shadowing import lognormal_availability
from showplan.physics.two_ray import breakpoint_distance_m, plane_earth_loss_db, two_ray_loss_db
from showplan.reference.body_losses import body_loss_db, body_losses
from showplan.reference.crowd import crowd, crowds
from showplan.reference.indoor import alpha_beta_gamma, floor_losses, indoor_shadowing, power_losses
from showplan.reference.standing import OutsideTable, UnknownKey

ROUNDING = 1e-9
TABLE = 1e-6  # probability, promised for many margins at once
HALF_A_DB = 0.5  # dB, between two rays and plane earth far beyond the breakpoint

distances_m = st.floats(1, 1e4)
frequencies_mhz = st.floats(300, 6000)
heights_m = st.floats(0.5, 20)
margins_db = st.floats(-40, 60)
sigmas_db = st.floats(0, 12)
rice_factors_db = st.floats(-20, 20)
likely = st.floats(0.05, 1)


@given(distances_m, frequencies_mhz, st.floats(1.01, 10))
def test_indoor_loss_grows_with_distance_and_frequency(distance_m, frequency_mhz, factor):
    loss_db = site_general_loss_db(distance_m, frequency_mhz, 28)
    assert site_general_loss_db(distance_m * factor, frequency_mhz, 28) > loss_db
    assert site_general_loss_db(distance_m, frequency_mhz, 28, 9) == pytest.approx(loss_db + 9, abs=ROUNDING)
    for row in alpha_beta_gamma().values():
        loss_db = alpha_beta_gamma_loss_db(distance_m, frequency_mhz, row.alpha, row.beta_db, row.gamma)
        further_db = alpha_beta_gamma_loss_db(distance_m * factor, frequency_mhz, row.alpha, row.beta_db, row.gamma)
        higher_db = alpha_beta_gamma_loss_db(distance_m, frequency_mhz * factor, row.alpha, row.beta_db, row.gamma)
        assert min(further_db, higher_db) > loss_db


@given(frequencies_mhz, heights_m, heights_m)
def test_two_rays_become_plane_earth_far_beyond_the_breakpoint(frequency_mhz, first_m, second_m):
    far_m = 20 * breakpoint_distance_m(frequency_mhz, first_m, second_m) + 20 * (first_m + second_m)
    two_ray_db = two_ray_loss_db(far_m, frequency_mhz, first_m, second_m)
    assert two_ray_db == pytest.approx(plane_earth_loss_db(far_m, first_m, second_m), abs=HALF_A_DB)


@given(distances_m, frequencies_mhz, heights_m, heights_m)
def test_two_rays_are_reciprocal_and_at_most_double_the_field(distance_m, frequency_mhz, first_m, second_m):
    loss_db = two_ray_loss_db(distance_m, frequency_mhz, first_m, second_m)
    assert two_ray_loss_db(distance_m, frequency_mhz, second_m, first_m) == pytest.approx(loss_db, abs=1e-6)
    direct_m = np.hypot(distance_m, first_m - second_m)
    assert loss_db >= free_space_loss_db(direct_m, frequency_mhz) - 20 * np.log10(2) - ROUNDING


@given(st.floats(-5, 5), st.floats(0.001, 5))
def test_a_higher_edge_never_loses_less(parameter, more):
    assert knife_edge_loss_db(parameter + more) >= knife_edge_loss_db(parameter) >= 0


@given(st.floats(-5, 20), st.floats(1, 100), st.floats(1, 100), frequencies_mhz)
def test_an_obstacle_is_the_same_from_both_sides(height_m, to_a_m, to_b_m, frequency_mhz):
    there_db = obstacle_loss_db(height_m, to_a_m, to_b_m, frequency_mhz)
    assert obstacle_loss_db(height_m, to_b_m, to_a_m, frequency_mhz) == pytest.approx(there_db, abs=1e-6)


@given(st.floats(0, 100), st.floats(0, 100))
def test_two_ways_are_at_most_3_db_better_than_the_best(through_db, over_db):
    both_db = through_or_over_loss_db(through_db, over_db)
    best_db = min(through_db, over_db)
    assert best_db - 10 * np.log10(2) - ROUNDING <= both_db <= best_db + ROUNDING
    assert both_db == through_or_over_loss_db(over_db, through_db)


@given(st.floats(-180, 180), st.floats(0, 20), st.floats(0, 40))
def test_no_pattern_exceeds_0_db(angle_deg, exponent, front_to_back_db):
    assert omni_pattern_db(angle_deg) == 0
    assert -30 - ROUNDING <= dipole_pattern_db(angle_deg) <= ROUNDING
    assert -front_to_back_db - ROUNDING <= patch_pattern_db(angle_deg, exponent, front_to_back_db) <= ROUNDING
    assert dipole_pattern_db(0) == patch_pattern_db(0, exponent, front_to_back_db) == 0


@given(st.floats(0, 89), st.floats(0.1, 45), st.floats(0.5, 20))
def test_a_patch_falls_off_to_the_side(angle_deg, more_deg, exponent):
    assert patch_pattern_db(angle_deg + more_deg, exponent, 20) <= patch_pattern_db(angle_deg, exponent, 20)


@given(st.permutations([3.0, 6.0, 12.0]), st.floats(0, 1))
def test_body_loss_quantile_serves_its_share(losses_db, share):
    quantile_db = body_loss_quantile_db(*losses_db, share)
    shares = dict(zip(losses_db, (0.25, 0.5, 0.25), strict=True))
    assert sum(part for loss_db, part in shares.items() if loss_db <= quantile_db) >= share
    assert sum(part for loss_db, part in shares.items() if loss_db < quantile_db) < share or quantile_db == 3


def test_body_loss_over_orientation():
    # shares 1/4, 1/2, 1/4 and losses of the table: engineering guess, from memory
    losses = {mhz: [body_loss_db(mhz, posture) for posture in ("facing", "side", "blocked")] for mhz in (868, 2440)}
    assert body_loss_mean_db(*losses[868]) == pytest.approx(6.75)
    assert body_loss_mean_db(*losses[2440]) == pytest.approx(10.25)
    assert body_loss_sigma_db(*losses[2440]) == pytest.approx(np.std([5, 8, 8, 20]))
    quantiles = body_loss_quantile_db(*losses[2440], np.array([0.0, 0.25, 0.26, 0.75, 0.76, 1.0]))
    assert quantiles.tolist() == [5, 5, 8, 8, 20, 20]
    assert {row.standing for row in body_losses()} == {"memory"}
    assert {catalogue()[name].source.standing for name in catalogue() if name.startswith("body_loss")} == {"memory"}


@given(margins_db, st.floats(0.01, 30), sigmas_db, rice_factors_db)
def test_availability_grows_with_margin_within_its_limits(margin_db, more_db, sigma_db, rice_factor_db):
    share = availability(margin_db, sigma_db, rice_factor_db)
    assert -ROUNDING <= share <= 1 + ROUNDING
    assert availability(margin_db + more_db, sigma_db, rice_factor_db) >= share - ROUNDING


@given(margins_db, rice_factors_db, st.floats(0.1, 12))
def test_availability_between_its_limits(margin_db, rice_factor_db, sigma_db):
    # without shadowing: Rice alone; with next to no steady part: Rayleigh
    assert availability(margin_db, 0, rice_factor_db) == pytest.approx(1 - rice_outage(margin_db, rice_factor_db))
    assert availability(margin_db, 0) == pytest.approx(1 - rayleigh_outage(margin_db), abs=1e-7)
    # a steady part of 30 dB leaves the shadowing, as far as its 0.2 dB are small
    wide_db = sigma_db + 4
    assert availability(margin_db, wide_db, 30) == pytest.approx(lognormal_availability(margin_db, wide_db), abs=0.002)


@given(st.floats(1e-4, 0.5), sigmas_db, st.floats(-20, 15))
def test_fading_margin_is_the_inverse_of_availability(outage, sigma_db, rice_factor_db):
    margin_db = fading_margin_db(outage, sigma_db, rice_factor_db)
    assert 1 - availability(margin_db, sigma_db, rice_factor_db) == pytest.approx(outage, rel=1e-6)
    reached_db = margin_quantile_db(margin_db, 1 - outage, sigma_db, rice_factor_db)
    assert reached_db == pytest.approx(0, abs=1e-5)


@pytest.mark.parametrize("sigma_db", [0.0, 0.3, 4.0, 12.0])
@pytest.mark.parametrize("rice_factor_db", [-100.0, 6.0, 20.0])
def test_many_margins_at_once_equal_single_ones(sigma_db, rice_factor_db):
    many_db = np.random.default_rng(20).uniform(-120, 90, (50, 100))
    shares = availability(many_db, sigma_db, rice_factor_db)
    assert shares.shape == many_db.shape
    few = availability(many_db[:, :3], sigma_db, rice_factor_db)
    assert shares[:, :3] == pytest.approx(few, abs=TABLE)


def test_availability_of_mixed_surroundings():
    sigmas_db = np.array([[4.0], [8.0]])
    factors_db = np.array([-100.0, 6.0, 10.0])
    shares = availability(np.float64(12), sigmas_db, factors_db)
    singles = [[availability(12, sigma, factor) for factor in factors_db] for sigma in sigmas_db[:, 0]]
    assert shares == pytest.approx(np.array(singles), abs=1e-12)
    assert availability(np.empty((0, 3)), 4).shape == (0, 3)


@given(st.floats(-40, 40), st.floats(0.01, 20), st.floats(1.5, 5), st.floats(2, 12))
def test_disc_coverage_grows_with_margin_and_beats_its_edge(edge_db, more_db, exponent, sigma_db):
    share = disc_coverage(edge_db, exponent, sigma_db)
    assert lognormal_availability(edge_db, sigma_db) - ROUNDING <= share <= 1 + ROUNDING
    assert disc_coverage(edge_db + more_db, exponent, sigma_db) >= share - ROUNDING


@given(st.floats(-20, 10), st.floats(0.01, 10), st.integers(1, 133))
def test_errors_fall_with_sinr_and_grow_with_length(ratio_db, more_db, octets):
    worse, better = oqpsk_bit_error_rate(ratio_db), oqpsk_bit_error_rate(ratio_db + more_db)
    assert 0 <= better <= worse <= 0.5
    assert 0 <= packet_error_rate(worse, octets) <= packet_error_rate(worse, octets + 1) <= 1


@given(st.floats(1e-6, 0.9), st.integers(1, 133))
def test_required_sinr_is_the_inverse_of_the_error_rate(rate, octets):
    required_db = required_sinr_db(rate, octets)
    assert packet_error_rate(oqpsk_bit_error_rate(required_db), octets) == pytest.approx(rate, rel=1e-6)


@given(st.floats(2400, 2480), st.floats(1, 40), st.floats(2400, 2480), st.floats(1, 40))
def test_overlap_is_the_same_in_mhz_from_both_sides(first_mhz, first_width_mhz, second_mhz, second_width_mhz):
    share = overlap_share(first_mhz, first_width_mhz, second_mhz, second_width_mhz)
    back = overlap_share(second_mhz, second_width_mhz, first_mhz, first_width_mhz)
    assert 0 <= share <= 1
    assert share * second_width_mhz == pytest.approx(back * first_width_mhz, abs=ROUNDING)


@given(st.floats(-120, 0), st.floats(-120, -60), st.floats(-120, -60))
def test_interference_only_ever_hurts(received_dbm, noise_dbm, interference_dbm):
    clean_db = sinr_db(received_dbm, noise_dbm, -np.inf)
    assert clean_db == pytest.approx(received_dbm - noise_dbm, abs=ROUNDING)
    assert sinr_db(received_dbm, noise_dbm, interference_dbm) <= clean_db + ROUNDING


def test_no_overlap_is_no_interference():
    counted = interference_after_rejection_dbm(-40, 0, np.array([0.0, 1.0]))
    assert counted.tolist() == [-np.inf, -40]


@given(likely, likely, st.integers(0, 7))
def test_retries_help_and_cost(forward, reverse, retries):
    acknowledged = acknowledged_with_retries(forward, reverse, retries)
    assert acknowledged <= delivery_with_retries(forward, retries) + ROUNDING
    assert delivery_with_retries(forward, retries + 1) >= delivery_with_retries(forward, retries)
    attempts = mean_attempts(forward, reverse, retries)
    assert 1 - ROUNDING <= attempts <= min(retries + 1, expected_transmissions(forward, reverse)) + ROUNDING


@given(likely, likely, likely, st.integers(1, 10))
def test_a_relay_never_hurts(direct, to_relay, from_relay, relays):
    delivered = relayed_delivery(direct, to_relay, from_relay, relays)
    assert direct - ROUNDING <= delivered <= 1
    assert relayed_delivery(direct, to_relay, from_relay, relays + 1) >= delivered - ROUNDING


@pytest.mark.parametrize(
    ("name", "values", "fault"),
    [
        ("two_ray_loss_db", {"transmit_height_m": 0}, "must be more than 0"),
        ("site_general_loss_db", {"power_loss_coefficient": -1}, "must be at least 0"),
        ("availability", {"shadowing_sigma_db": -1}, "must be at least 0"),
        ("fading_margin_db", {"outage": 1}, "must be at most 0.999"),
        ("packet_error_rate", {"bit_error_rate": 0.6}, "must be at most 0.5"),
        ("packet_error_rate", {"octets": 0}, "must be at least 1"),
        ("expected_transmissions", {"forward_delivery": 0}, "must be more than 0"),
        ("delivery_with_retries", {"retries": 1.5}, "is not a whole number"),
        ("interference_after_rejection_dbm", {"overlap_share": 0}, "must be more than 0"),
    ],
)
def test_what_lies_outside_the_domain_is_refused(name, values, fault):
    good = {p.name: p.high if p.high is not None else 10 for p in catalogue()[name].parameters}
    assert evaluate(name, good)
    with pytest.raises(BadParameters, match=fault):
        evaluate(name, good | values)


def test_what_lies_outside_the_validity_range_is_warned_of():
    values = {"distance_m": 300, "frequency_mhz": 2440, "alpha": 2.46, "beta_db": 29.53, "gamma": 2.38}
    (warning,) = evaluate("alpha_beta_gamma_loss_db", values).warnings
    assert "distance_m = 300 m is above 160" in warning
    assert evaluate("availability", {"margin_db": 10, "shadowing_sigma_db": 4}).warnings == ()


def test_crowd_is_an_assumption_and_grows_with_the_audience():
    assert {row.standing for row in crowds()} == {"memory"}
    assert all("assumption" in row.note for row in crowds())
    for frequency_mhz in (868.3, 915, 2440):
        losses = [crowd(key, frequency_mhz).loss_db for key in ("empty", "seated-half", "seated-full", "standing")]
        assert losses == sorted(losses)
        assert losses[0] == 0
    with pytest.raises(UnknownKey, match="unknown crowd 'dancing'; known: empty, seated-half, seated-full, standing"):
        crowd("dancing", 2440)
    with pytest.raises(OutsideTable, match="100 to 6000 MHz"):
        crowd("empty", 60)


def test_every_indoor_row_names_source_and_standing():
    for row in (*power_losses(), *floor_losses(), *indoor_shadowing(), *alpha_beta_gamma().values()):
        assert row.source
        assert row.edition
        assert (row.standing == "memory") == ("from memory" in row.source and row.source.count("TR 38.901") == 0)
