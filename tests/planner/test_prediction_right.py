"""Was the prediction right? Readings against the plan as it is applied, and the calibration it rests on."""

import dataclasses

import numpy as np
import pytest

from showplan.planner.analysis import Analysis
from showplan.planner.calibration import calibrate
from showplan.planner.fitting import CalibrationError
from showplan.planner.prediction_right import BIAS_DB, prediction_findings, spots_wanted
from showplan.planner.predictions import WalkTest
from showplan.planner.propagation import Propagation
from showplan.planner.readiness import plan
from showplan.planner.scene import Network, Reading, VenueCalibration
from tests.scenes import HALL, hall, node, with_venue

QUESTION = "prediction-right"
SIGMA_DB = 5.7  # the table's for a theatre hall; the scenes below take it from there


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


def walked(off_db, scene=None):
    """The hall with a reading for each given offset in dB from what the plan predicts, at spots of its own."""
    scene = scene or hall(readings=())
    points = [(round(8 + 30 * i / len(off_db), 2), round(2 + 12 * (i * 0.618 % 1), 2)) for i in range(len(off_db))]
    sender_m = np.array([[5.0, 18.0, 1.5]])
    sent_dbm = 3.0 + scene.node_types[0].antenna_gain_dbi * 2 - scene.node_types[0].cable_loss_db * 2
    readings = []
    for (x, y), off in zip(points, off_db, strict=True):
        loss_db = Propagation(scene, 2475.0).path_loss_db(sender_m, np.array([[x, y, 1.2]]))[0, 0]
        readings.append(reading(x, y, float(sent_dbm - loss_db + off)))
    return dataclasses.replace(scene, readings=tuple(readings))


def found(scene):
    """The findings of the question by code."""
    return {finding.code: finding for finding in prediction_findings(Analysis(scene))}


def state(scene) -> str:
    return next(answer.state for answer in plan(scene).answers() if answer.question.key == QUESTION)


def value(finding, name: str) -> float:
    return next(quantity.value for quantity in finding.quantities if quantity.name == name)


def test_readings_as_planned_answer_the_question() -> None:
    scene = walked([0.0] * 12)
    told = found(scene)
    assert set(told) == {"prediction-measured"}
    assert value(told["prediction-measured"], "RMS error") == pytest.approx(0.0, abs=1e-9)
    assert value(told["prediction-measured"], "spots received") == 12
    assert state(scene) == "ready"


def test_the_errors_are_those_of_the_calibration_page() -> None:
    """One mean and RMS error, by whichever way it is asked for."""
    scene = walked(list(np.random.default_rng(3).normal(-2, 4, 20)))
    told, fitted = found(scene)["prediction-measured"], calibrate(scene, scene.networks[0])
    assert value(told, "mean error") == pytest.approx(fitted.bias_before_db)
    assert value(told, "RMS error") == pytest.approx(fitted.rms_before_db)


def test_without_readings_it_says_how_many_and_where() -> None:
    scene = hall(readings=())
    told = found(scene)
    assert set(told) == {"readings-wanted"}
    finding = told["readings-wanted"]
    assert value(finding, "spots wanted") == spots_wanted(SIGMA_DB)
    assert "brick-200" in finding.remedy
    assert "out to" in finding.remedy
    assert state(scene) == "open"
    assert found(walked([0.0, 0.0]))["readings-wanted"].sentence.startswith("Only 2 of")


@pytest.mark.parametrize(("sigma_db", "wanted"), [(1.0, 3), (4.0, 8), (6.0, 16)])
def test_spots_wanted_make_two_standard_errors_three_db(sigma_db: float, wanted: int) -> None:
    """sigma / sqrt(n) <= 1.5 dB, the standard error of a mean."""
    assert spots_wanted(sigma_db) == wanted
    assert wanted == 3 or 2 * sigma_db / wanted**0.5 <= BIAS_DB < 2 * sigma_db / (wanted - 1) ** 0.5


@pytest.mark.parametrize(("off_db", "word"), [(-6.0, "lossier"), (6.0, "less lossy")])
def test_a_bias_is_told_with_its_direction(off_db: float, word: str) -> None:
    finding = found(walked([off_db] * 20))["prediction-biased"]
    assert finding.severity == "warn"
    assert f"The venue is 6.0 dB {word} than planned by the tables" in finding.sentence
    assert "Calibrate" in finding.remedy
    assert state(walked([off_db] * 20)) == "look"


@pytest.mark.parametrize(("off_db", "spots"), [(-2.9, 100), (-6.0, 3)])
def test_what_is_small_or_may_be_chance_is_no_bias(off_db: float, spots: int) -> None:
    """-6 dB at 3 spots lies within two standard errors of a shadowing of 5.7 dB: 6.6 dB."""
    assert "prediction-biased" not in found(walked([off_db] * spots))


def test_chance_alone_is_rarely_called_a_bias() -> None:
    """Two standard errors of the normal distribution: 4.55 % of sets; a set's share must also pass 3 dB."""
    random, told = np.random.default_rng(20270501), 0
    scene = walked([0.0] * 12)
    sigma_db = value(found(scene)["prediction-measured"], "shadowing")
    for _ in range(300):
        off_db = random.normal(0, sigma_db, 12)
        readings = tuple(
            dataclasses.replace(r, received_dbm=r.received_dbm + o) for r, o in zip(scene.readings, off_db, strict=True)
        )
        told += "prediction-biased" in found(dataclasses.replace(scene, readings=readings))
    assert told / 300 < 0.08


def test_a_single_spot_far_off_is_named_and_a_bias_alone_names_none() -> None:
    off_db = [-8.0] * 15
    assert "spots-stand-out" not in found(walked(off_db))
    off_db[4] = 15.0
    scene = walked(off_db)
    finding = found(scene)["spots-stand-out"]
    x, y = scene.readings[4].position_m
    assert f"G1 at ({x:g}, {y:g}) m on Hall (+23.0 dB)" in finding.sentence
    assert value(finding, "spots") == 1


def test_lost_where_the_plan_is_strong() -> None:
    base = walked([0.0] * 8)
    near, far = reading(9.0, 17.0, None, packet_error=1.0), reading(38.0, 3.0, None, packet_error=1.0)
    sorts = tuple(dataclasses.replace(sort, sensitivity_dbm=-80.0) for sort in base.node_types)
    scene = dataclasses.replace(base, node_types=sorts, readings=(*base.readings, near, far))
    told = found(scene)
    assert "G1 at (9, 17) m" in told["lost-where-strong"].sentence
    assert "(38, 3)" not in told["lost-where-strong"].sentence
    assert value(told["prediction-measured"], "spots lost") == 2
    assert value(told["prediction-measured"], "mean error") == pytest.approx(0.0, abs=1e-9)


def test_readings_that_cannot_be_right_are_told_and_not_counted() -> None:
    scene = walked([0.0] * 8)
    loud = tuple(reading(9.0 + i, 16.0, 20.0) for i in range(9))
    wrong = dataclasses.replace(scene, readings=(*scene.readings, *loud, reading(9, 9, -50.0, transmitter="Q7")))
    told = [f for f in prediction_findings(Analysis(wrong)) if f.code == "readings-impossible"]
    assert [(f.subject.name, f.severity) for f in told] == [("G1", "warn"), ("Q7", "warn")]
    assert "20 dBm is more than 'G1' sends, 3 dBm" in told[0].sentence
    assert "and 3 more" in told[0].sentence
    assert value(found(wrong)["prediction-measured"], "spots received") == 8
    with pytest.raises(CalibrationError):
        calibrate(wrong, wrong.networks[0])


def with_other_radio(scene):
    """The Scene with a relay of another PHY beside."""
    other = Network(name="Sub", phy="oqpsk-868", radio_channel=0, pan_id=9)
    sort = dataclasses.replace(scene.node_types[0], name="Low", phy="oqpsk-868")
    stray = node("X1", "relay", 9, 1.0, 1.0, network="Sub", node_type="Low")
    return dataclasses.replace(
        scene,
        networks=(*scene.networks, other),
        nodes=(*scene.nodes, stray),
        node_types=(*scene.node_types, sort),
    )


def test_another_radio_that_was_not_measured_is_told() -> None:
    scene = walked([0.0] * 8)
    finding = found(with_other_radio(scene))["readings-few"]
    assert (finding.subject.name, value(finding, "spots")) == ("Sub", 0)


CALIBRATION = VenueCalibration(
    name="calibration 1",
    reference_offset_db=2.0,
    path_loss_exponent=2.5,
    shadowing_sigma_db=3.0,
    furthest_m=100.0,
    network="Show",
    latest_reading_at="2026-03-01T10:00:00+00:00",
)


def calibrated(**changes):
    return with_venue(hall(readings=()), calibration=dataclasses.replace(CALIBRATION, **changes))


def test_what_is_applied_is_what_is_judged() -> None:
    scene = walked([0.0] * 8, calibrated())
    told = found(scene)
    assert set(told) == {"prediction-measured"}
    assert "calibration 1" in told["prediction-measured"].sentence
    assert value(told["prediction-measured"], "shadowing") == 3.0
    assert "prediction-biased" in found(with_venue(scene, calibration=None))


def test_after_a_calibration_the_bias_is_gone() -> None:
    scene = walked(list(np.random.default_rng(5).normal(-9, 3, 25)))
    assert "prediction-biased" in found(scene)
    applied = calibrate(scene, scene.networks[0]).for_scene("calibration 1")
    assert (applied.network, applied.latest_reading_at) == ("Show", "2026-03-01T10:00:00+00:00")
    told = found(with_venue(scene, calibration=applied))
    assert not {"prediction-biased", "calibration-older", "calibration-other-radio"} & set(told)


@pytest.mark.parametrize(
    ("latest", "newer"),
    [
        ("2026-03-01T10:00:00+00:00", 0),
        ("2026-03-01T11:00:00+01:00", 0),
        ("2026-03-01T09:59:00+00:00", 8),
        ("2026-03-01T09:59:00", 8),
        ("", 0),
        ("spring", 0),
    ],
)
def test_a_calibration_older_than_readings(latest: str, newer: int) -> None:
    told = found(walked([0.0] * 8, calibrated(latest_reading_at=latest)))
    assert ("calibration-older" in told) == bool(newer)
    if newer:
        assert value(told["calibration-older"], "newer readings") == newer


def test_a_calibration_used_beyond_its_walk_or_for_other_radio() -> None:
    told = found(walked([0.0] * 8, calibrated(furthest_m=10.0)))
    assert "was measured up to 10 m, used up to" in told["calibration-beyond-walk"].sentence
    told = found(with_other_radio(walked([0.0] * 8, calibrated())))
    assert "network Show; it is used for other radio too: Sub." in told["calibration-other-radio"].sentence
    assert told["calibration-other-radio"].severity == "warn"
    told = found(walked([0.0] * 8, calibrated(network="Old show")))
    assert "Old show, which is no longer in the project" in told["calibration-other-radio"].sentence
    assert "calibration-other-radio" not in found(walked([0.0] * 8, calibrated(network="")))


def test_pairs_have_the_loss_of_the_full_matrix() -> None:
    scene = hall()
    random = np.random.default_rng(1)
    from_m, to_m = random.uniform([0, 0, 0.5], [40, 20, 5], (2, 300, 3))
    propagation = Propagation(scene, 2440.0)
    pairs_db = propagation.path_loss_of_pairs_db(from_m, to_m)
    np.testing.assert_array_equal(pairs_db, np.diag(propagation.path_loss_db(from_m, to_m)))


def test_states_of_the_house_share_one_walk_test() -> None:
    scene = walked([0.0] * 8)
    made = plan(scene)
    assert len({id(analysis.walk_test) for analysis in made.analyses.values()}) == 1
    assert WalkTest(scene).predictions[0].network == "Show"
