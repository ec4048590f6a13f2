"""Calibration from walk-test readings: what it finds, how sure it is, what it leaves out and what it refuses."""

import dataclasses
import json

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import norm

from showplan.planner.calibration import CalibrationError, Priors, calibrate, fit
from showplan.planner.findings import QUESTIONS
from showplan.planner.propagation import Propagation
from showplan.planner.scene import Placement, Reading
from showplan.planner.scene_checks import cross_faults
from tests.scenes import HALL, hall, node, with_venue

TRUTH = np.array([40.2, 2.1, 3.6, 7.5, 16.0])  # loss at 1 m, exponent, light wall, heavy wall, floor
A_HUNDREDTH_DB = 0.01


def synthetic(random, spots=30, sigma_db=4.0):
    """A random walk: design (n, 5), losses (n,) about TRUTH, and nothing lost."""
    distance_m = 10 ** random.uniform(0.3, 1.7, spots)
    crossed = random.integers(0, 2, (spots, 3)) * (random.random((spots, 3)) < 0.8)
    design = np.column_stack([np.ones(spots), 10 * np.log10(distance_m), crossed])
    return design, design @ TRUTH + random.normal(0, sigma_db, spots), np.zeros(spots, dtype=bool)


def usual_priors(sigma_worth=4.0) -> Priors:
    lowest = np.array([-np.inf, -np.inf, 0.0, 0.0, 0.0])
    return Priors(np.array([40.2, 2.55, 3.4, 6.9, 18.3]), np.array([3.0, 0.5, 3.0, 3.0, 5.0]), lowest, 5.7, sigma_worth)


# ---------------------------------------------------------------- the fit on arrays


@pytest.mark.parametrize("is_robust", [False, True])
def test_intervals_hold_the_truth_as_often_as_they_say(is_robust: bool) -> None:
    random = np.random.default_rng(20260301)
    held = np.zeros(len(TRUTH))
    for _ in range(500):
        found = fit(*_as_arguments(synthetic(random)), is_robust=is_robust).interval(0.95)
        held += (found[:, 0] <= TRUTH) & (found[:, 1] >= TRUTH)
    assert (held / 500 >= 0.92).all()
    assert (held / 500 <= 0.98).all()


def _as_arguments(case, priors=None):
    design, loss_db, lost = case
    return design, loss_db, priors or Priors.none(design.shape[1]), lost


def test_readings_without_error_give_the_truth() -> None:
    design, loss_db, lost = synthetic(np.random.default_rng(1), sigma_db=0.0)
    np.testing.assert_allclose(fit(design, loss_db, Priors.none(5), lost).values, TRUTH, atol=1e-9)


def test_lost_readings_left_out_bias_the_exponent_low_and_counted_do_not() -> None:
    random = np.random.default_rng(5)
    counted, dropped = [], []
    for _ in range(100):
        distance_m = 10 ** random.uniform(0.3, 2.0, 60)
        design = np.column_stack([np.ones(60), 10 * np.log10(distance_m)])
        loss_db = design @ [40.0, 3.0] + random.normal(0, 6, 60)
        lost = loss_db > 85
        seen = np.minimum(loss_db, 85)
        counted.append(fit(design, seen, Priors.none(2), lost).values[1])
        dropped.append(fit(design[~lost], seen[~lost], Priors.none(2), lost[~lost]).values[1])
    assert np.mean(counted) == pytest.approx(3.0, abs=0.05)
    assert np.mean(dropped) < 2.75


def test_the_censored_fit_is_the_most_likely_one() -> None:
    """scipy.optimize.minimize on the likelihood itself, with sigma's divisor the readings less coefficients."""
    random = np.random.default_rng(2)
    design, loss_db, _ = synthetic(random, spots=80)
    lost = loss_db > 85
    seen = np.minimum(loss_db, 85)

    def surprise(at):
        residuals, sigma_db = seen - design @ at[:-1], np.exp(at[-1])
        densities = norm.logpdf(residuals[~lost] / sigma_db) - at[-1]
        hidden = norm.logsf(residuals[lost] / sigma_db)
        return -densities.sum() - hidden.sum() - design.shape[1] * at[-1]

    found = fit(design, seen, Priors.none(5), lost, is_robust=False)
    best = minimize(surprise, np.append(TRUTH, np.log(4.0)), method="BFGS", options={"gtol": 1e-5}).x
    assert lost.sum() > 5
    np.testing.assert_allclose(found.values, best[:-1], atol=1e-3)
    assert found.sigma_db == pytest.approx(np.exp(best[-1]), abs=1e-3)

    step = 1e-3 * np.eye(6)
    mixed = [(+1, 1, 1), (-1, 1, -1), (-1, -1, 1), (+1, -1, -1)]
    bends = [[sum(sign * surprise(best + a * i + b * j) for sign, a, b in mixed) for i in step] for j in step]
    errors = np.sqrt(np.diag(np.linalg.inv(np.array(bends) / 4e-6)))
    np.testing.assert_allclose(found.standard_errors, errors[:-1], rtol=1e-3)


def test_three_readings_cannot_move_the_model_far() -> None:
    design = np.column_stack([np.ones(3), 10 * np.log10([5.0, 6.0, 7.0]), np.zeros((3, 3))])
    priors = usual_priors()
    absurd = fit(design, np.array([90.0, 40.0, 95.0]), priors, np.zeros(3, dtype=bool))
    assert (np.abs(absurd.values - priors.mean) <= 2 * priors.width).all()
    np.testing.assert_allclose(absurd.values[2:], priors.mean[2:], atol=1e-9)
    np.testing.assert_allclose(absurd.standard_errors[2:], priors.width[2:], rtol=1e-6)


def test_more_readings_make_it_surer() -> None:
    design, loss_db, lost = synthetic(np.random.default_rng(3), spots=20)
    errors = []
    for times in (1, 2, 4, 8):
        many = np.tile(design, (times, 1)), np.tile(loss_db, times), np.tile(lost, times)
        errors.append(fit(many[0], many[1], usual_priors(), many[2]).standard_errors)
    assert (np.diff(errors, axis=0) < 0).all()


def test_one_outlier_moves_nothing_much() -> None:
    design, loss_db, lost = synthetic(np.random.default_rng(4))
    clean = fit(design, loss_db, Priors.none(5), lost)
    struck = loss_db.copy()
    struck[7] += 30
    found = fit(design, struck, Priors.none(5), lost)
    plain = fit(design, struck, Priors.none(5), lost, is_robust=False)
    assert found.weights[7] < 0.5
    assert (np.abs(found.values - clean.values) < clean.standard_errors).all()
    assert np.abs(found.values - clean.values).max() < np.abs(plain.values - clean.values).max() / 2
    assert found.sigma_db < 1.3 * clean.sigma_db < plain.sigma_db


def test_walls_never_amplify() -> None:
    design, loss_db, lost = synthetic(np.random.default_rng(6))
    found = fit(design, loss_db - 12 * design[:, 2], usual_priors(), lost)
    assert found.values[2] == 0.0
    np.testing.assert_array_equal(found.is_at_bound, [False, False, True, False, False])


def test_left_out_residuals_are_those_of_a_fit_without_the_reading() -> None:
    design, loss_db, lost = synthetic(np.random.default_rng(8))
    found = fit(design, loss_db, Priors.none(5), lost, is_robust=False)
    for row in range(len(loss_db)):
        rest = np.arange(len(loss_db)) != row
        others = fit(design[rest], loss_db[rest], Priors.none(5), lost[rest], is_robust=False)
        expected = loss_db[row] - design[row] @ others.values
        assert found.left_out_residuals[row] == pytest.approx(expected, abs=1e-6)


def test_what_the_readings_cannot_tell_apart_is_refused() -> None:
    design, loss_db, lost = synthetic(np.random.default_rng(9))
    design[:, 3] = design[:, 2]
    with pytest.raises(CalibrationError, match="tell the coefficients apart"):
        fit(design, loss_db, Priors.none(5), lost)
    fit(design, loss_db, usual_priors(), lost)  # the priors can
    with pytest.raises(CalibrationError, match="cannot determine"):
        fit(np.eye(2), np.ones(2), Priors.none(2), np.zeros(2, dtype=bool))


# ---------------------------------------------------------------- from a Scene


def reading(x_m, y_m, received_dbm, **changes) -> Reading:
    values = {
        "level": HALL,
        "position_m": (x_m, y_m),
        "height_m": 1.2,
        "transmitter": "G1",
        "receiver_type": "Pocket",
        "received_dbm": received_dbm,
        "taken_at": "2026-03-01T10:00:00+00:00",
    }
    return Reading(**(values | changes))


def walked(exponent=2.9, wall_db=9.0, sigma_db=0.0, seed=1, spots=40, scene=None):
    """The hall with readings as they would be with another exponent and wall loss; brick-200 is its only wall."""
    scene = scene or hall(readings=())
    random = np.random.default_rng(seed)
    other = Propagation(with_venue(dataclasses.replace(scene, walls=()), path_loss_exponent=exponent), 2475.0)
    sender_m = np.array([[5.0, 18.0, 1.5]])
    readings = []
    for x, y in np.round(random.uniform([8, 1], [39, 15], (spots, 2)), 2):
        point_m = np.array([[x, y, 1.2]])
        walls = Propagation(scene, 2475.0).obstacle_terms(sender_m, point_m)["wall", "brick-200"][0, 0]
        loss_db = other.path_loss_db(sender_m, point_m)[0, 0] + walls * wall_db
        readings.append(reading(x, y, float(3.0 - loss_db + random.normal(0, sigma_db))))
    return dataclasses.replace(scene, readings=tuple(readings))


def calibrated(scene):
    return calibrate(scene, scene.networks[0])


def codes(found):
    return {finding.code for finding in found.findings}


def test_a_walk_finds_the_venue_as_it_is() -> None:
    found = calibrated(walked(sigma_db=2.0, spots=300))
    assert found.exponent == pytest.approx(2.9, abs=3 * found.coefficients[1].standard_error)
    assert found.losses_db("wall")["brick-200"] == pytest.approx(9.0, abs=1.0)
    assert found.rms_after_db < 2.5 < found.rms_before_db
    assert found.sigma_db == pytest.approx(2.0, abs=0.4)
    assert found.bias_before_db > 0
    assert {"calibration-helps", "prediction-off", "coefficients-kept"} <= codes(found)
    assert {finding.question for finding in found.findings} <= {question.key for question in QUESTIONS}


def test_the_present_model_is_the_planner_s_own() -> None:
    """Readings exactly as planned: nothing to correct, and before equals after."""
    scene = walked(exponent=2.2, wall_db=5.842)  # brick 200 mm at 2440 MHz, material table
    found = calibrated(scene)
    assert found.rms_before_db == pytest.approx(0.0, abs=A_HUNDREDTH_DB)
    assert found.exponent == pytest.approx(2.2, abs=1e-3)
    for outcome in found.readings:
        assert outcome.before_dbm == pytest.approx(outcome.received_dbm, abs=A_HUNDREDTH_DB)
        assert outcome.after_dbm + outcome.residual_db == pytest.approx(outcome.received_dbm)


def test_antennas_cables_and_a_worn_transmitter_come_off_first() -> None:
    scene = walked()
    kit = tuple(dataclasses.replace(sort, antenna_gain_dbi=2.0, cable_loss_db=0.5) for sort in scene.node_types)
    louder = tuple(dataclasses.replace(r, received_dbm=r.received_dbm + 3.0) for r in scene.readings)
    changed = calibrated(dataclasses.replace(scene, node_types=kit, readings=louder))
    plain = calibrated(scene)
    assert changed.reference_loss_db == pytest.approx(plain.reference_loss_db)
    nodes = tuple(dataclasses.replace(n, is_worn=n.label == "G1") for n in scene.nodes)
    worn = calibrated(dataclasses.replace(scene, nodes=nodes))
    assert worn.reference_loss_db < plain.reference_loss_db


def test_readings_at_one_spot_count_once_by_their_mean_in_db() -> None:
    scene = walked(sigma_db=1.0)
    first = scene.readings[0]
    pair = [dataclasses.replace(first, received_dbm=first.received_dbm + d, taken_at=f"t{d}") for d in (-10.0, 10.0)]
    again = calibrated(dataclasses.replace(scene, readings=(*scene.readings, *pair)))
    assert again.spots == len(scene.readings)
    assert again.exponent == pytest.approx(calibrated(scene).exponent)


def test_lost_readings_raise_the_exponent() -> None:
    scene = walked(exponent=2.2, sigma_db=1.0)
    lost = tuple(reading(37.0 + i / 2, 3.0 + i, None, packet_error=1.0) for i in range(4))
    deaf = dataclasses.replace(
        scene, node_types=tuple(dataclasses.replace(sort, sensitivity_dbm=-70.0) for sort in scene.node_types)
    )
    found = calibrated(dataclasses.replace(deaf, readings=(*scene.readings, *lost)))
    assert found.spots_lost >= 4
    assert [outcome.state for outcome in found.readings[-4:]] == ["lost"] * 4
    without = calibrated(dataclasses.replace(deaf, readings=scene.readings))
    assert found.exponent > without.exponent


def test_what_is_left_out_is_told_with_its_reason() -> None:
    scene = walked()
    odd = (
        reading(5.2, 18.0, -40.0),
        reading(20.0, 3.0, None),
        reading(20.0, 3.0, None, packet_error=0.0, taken_at="later"),
        reading(20.0, 5.0, -60.0, transmitter="A3"),
        reading(20.0, 5.0, -60.0, transmitter="X1"),
        reading(*scene.readings[0].position_m, None, packet_error=1.0),
        reading(*scene.readings[0].position_m, scene.readings[0].received_dbm, taken_at="later"),
    )
    stray = node("X1", "relay", 9, 1.0, 1.0, network=None)
    scene = dataclasses.replace(scene, nodes=(*scene.nodes, stray), readings=(*scene.readings, *odd))
    found = calibrated(scene)
    reasons = [outcome.reason for outcome in found.readings[-7:]]
    words = ("nearer than 1 m", "no received power", "no received power", "no fixed point", "PHY", "received", "")
    assert all(word in reason for word, reason in zip(words, reasons, strict=True))
    assert [outcome.state for outcome in found.readings[-7:]] == ["left out"] * 6 + ["used"]
    assert "readings-left-out" in codes(found)


def test_a_reading_that_stands_out_is_named() -> None:
    scene = walked(sigma_db=1.0)
    readings = sorted(scene.readings, key=lambda one: -one.received_dbm)
    readings[3] = dataclasses.replace(readings[3], received_dbm=readings[3].received_dbm - 25)
    found = calibrated(dataclasses.replace(scene, readings=tuple(readings)))
    [finding] = [finding for finding in found.findings if finding.code == "reading-stands-out"]
    assert finding.subject.name == found.readings[3].name


def test_a_wall_that_would_amplify_is_held_at_zero_and_told() -> None:
    found = calibrated(walked(exponent=2.2, wall_db=-8.0))
    assert found.losses_db("wall")["brick-200"] == 0.0
    assert "wall-loss-at-zero" in codes(found)


def test_distances_beyond_the_walk_are_extrapolation() -> None:
    found = calibrated(walked())
    nearest_m, farthest_m = found.measured_distance_m
    assert not found.is_extrapolation((nearest_m + farthest_m) / 2)
    assert found.is_extrapolation(farthest_m + 1)
    assert found.is_extrapolation(nearest_m / 2)


def test_it_can_be_written_as_json() -> None:
    written = json.loads(json.dumps(calibrated(walked(sigma_db=1.0)).as_dict(), allow_nan=False))
    assert written["coefficients"][1]["kind"] == "exponent"
    assert len(written["covariance"]) == len(written["coefficients"])
    assert written["findings"]


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        ((), "0 can be used"),
        ((reading(8, 8, -50.0), reading(9, 9, -52.0)), "2 can be used"),
        (tuple(reading(8, 8, -50.0 - i, taken_at=f"t{i}") for i in range(4)), "all were taken at one place"),
        (tuple(reading(8 + i, 8, None, packet_error=1.0) for i in range(4)), "all were lost"),
        ((reading(8, 8, 5.0),), "/readings/0/received_dbm: 5 dBm is more than 'G1' sends, 3 dBm"),
        ((reading(8, 8, -50.0, transmitter="Q7"),), "/readings/0/transmitter: there is no 'Q7'"),
        ((reading(8, 8, -50.0, level="Attic"),), "/readings/0/level: there is no 'Attic'"),
        ((reading(8, 8, -50.0, receiver_type="Q"),), "/readings/0/receiver_type: there is no 'Q'"),
    ],
)
def test_what_cannot_be_right_is_refused(readings, words: str) -> None:
    with pytest.raises(CalibrationError) as refused:
        calibrated(hall(readings=readings))
    assert words in str(refused.value)
    assert refused.value.faults


def test_a_network_without_frequency_is_refused() -> None:
    scene = walked()
    network = dataclasses.replace(scene.networks[0], radio_channel=99)
    with pytest.raises(CalibrationError, match="needs a radio channel"):
        calibrate(scene, network)


def test_three_readings_are_enough_and_say_how_little_they_know() -> None:
    scene = walked(spots=40, seed=2)
    found = calibrated(scene)
    three = calibrated(dataclasses.replace(scene, readings=scene.readings[:3]))
    assert three.spots == 3
    assert three.coefficients[1].standard_error > found.coefficients[1].standard_error
    for coefficient in three.coefficients:
        assert abs(coefficient.value - coefficient.prior) <= 2 * coefficient.prior_width


def test_walls_along_and_across_the_edges_of_the_plan() -> None:
    """A wall from edge to edge counts for every ray that crosses it, one along the edge for none inside."""
    base = hall().walls[0]
    across = dataclasses.replace(base, label="X", start_m=(20.0, 0.0), end_m=(20.0, 20.0))
    edge = dataclasses.replace(base, label="E", start_m=(40.0, 0.0), end_m=(40.0, 20.0), material="metal")
    scene = hall(walls=(across, edge), readings=())
    assert not cross_faults(scene)
    terms = Propagation(scene, 2475.0).obstacle_terms(
        np.array([[5.0, 18.0, 1.5]]), np.array([[30.0, 0.0, 1.2], [40.0, 10.0, 1.2], [12.0, 20.0, 1.2]])
    )
    np.testing.assert_array_equal(terms["wall", "brick-200"], [[1, 1, 0]])
    fitted = calibrated(walked(scene=scene, spots=30))
    metal = next(one for one in fitted.coefficients if one.material == "metal")
    assert (metal.positions, metal.is_kept) == (0, True)
    beyond = dataclasses.replace(across, end_m=(20.0, 25.0))
    [fault] = cross_faults(hall(walls=(beyond,), readings=()))
    assert fault.pointer == "/walls/0/end_m"
    assert "lies off level 'Hall'" in fault.message


def test_outside_the_published_range_of_the_model_it_says_so() -> None:
    """Log-distance is stated for 800 to 2500 MHz, up to 300 m (path_loss.PATH_LOSS_MODELS)."""
    assert calibrated(walked()).outside_ranges == ()
    wide = dataclasses.replace(hall().levels[0], width_m=500.0)
    far = (*walked().readings, reading(450.0, 10.0, -90.0), reading(480.0, 12.0, -91.0))
    found = calibrated(hall(levels=(wide,), readings=far))
    assert found.outside_ranges == ("log-distance, walls and floors: stated up to 300 m, used up to 475 m.",)
    assert "model-outside-range-1" in codes(found)


def test_two_floors_up_the_terms_are_those_of_the_path_loss() -> None:
    """Open loss plus terms times table losses is the planner's path loss, walls and floors together."""
    base = hall().levels[0]
    floors = ((1, "concrete-150"), (2, "wood-40"))
    upper = [dataclasses.replace(base, name=f"L{i}", elevation_m=4.0 * i, floor_material=m) for i, m in floors]
    receiver = node("A9", "receiver", 9, 30.0, 5.0, placement=Placement(level="L2", position_m=(30.0, 5.0), height_m=1))
    scene = hall(levels=(base, *upper), nodes=(*hall().nodes, receiver))
    propagation = Propagation(scene, 2440.0)
    from_m, to_m = np.array([[5.0, 18.0, 1.5]]), np.array([[30.0, 5.0, 9.0], [24.0, 3.0, 1.0]])
    table_db = {"brick-200": 5.842, "concrete-150": 11.484, "wood-40": 0.614, "concrete-200": 14.760}
    open_db = Propagation(dataclasses.replace(scene, walls=(), levels=()), 2440.0).path_loss_db(from_m, to_m)
    terms = propagation.obstacle_terms(from_m, to_m)
    total_db = open_db + sum(factor * table_db[material] for (_, material), factor in terms.items())
    np.testing.assert_allclose(total_db, propagation.path_loss_db(from_m, to_m), atol=1e-9)
    assert terms["floor", "wood-40"][0, 0] > 0
