"""Was the prediction right? Findings on walk-test readings against the plan, and on the calibration it rests on."""

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from showplan.planner.analysis import Analysis
from showplan.planner.findings import Finding, Quantity, Subject
from showplan.planner.path_loss import model_of
from showplan.planner.predictions import Prediction
from showplan.planner.reception import shadowing_sigma_db
from showplan.planner.scene import Scene, VenueCalibration
from showplan.planner.walk_test import FEWEST_READINGS, Spot, moment_of, reading_name

QUESTION: Final = "prediction-right"
NO_READINGS: Final = "readings-wanted"
# A mean error is told where it is more than two standard errors (which chance alone passes one time in twenty) and
# more than 3 dB, half the power. Common practice, no source.
BIAS_STANDARD_ERRORS: Final = 2.0
BIAS_DB: Final = 3.0
# A single spot is told beyond three standard deviations, where chance puts one in 370. Common practice, no source.
STRAY_SIGMAS: Final = 3.0
MOST_LISTED: Final = 6


def prediction_findings(analysis: Analysis) -> Iterator[Finding]:
    """All findings on 'was the prediction right?'."""
    predictions = analysis.walk_test.predictions
    yield from _impossible(analysis)
    if any(len(prediction.spots) >= FEWEST_READINGS for prediction in predictions):
        yield from _few_readings(analysis)
        for prediction in predictions:
            yield from _against_the_plan(analysis.scene, prediction)
    else:
        yield _readings_wanted(analysis)
    calibration = analysis.scene.venue.calibration
    if calibration is not None:
        yield from _newer_readings(analysis, calibration)
        yield from _other_radio(analysis, calibration)
        yield from _beyond_the_walk(analysis, calibration)


def spots_wanted(sigma_db: float) -> int:
    """Spots with which a mean error of BIAS_DB stands out from shadowing of `sigma_db`."""
    return max(FEWEST_READINGS, math.ceil((BIAS_STANDARD_ERRORS * sigma_db / BIAS_DB) ** 2))


def _impossible(analysis: Analysis) -> Iterator[Finding]:
    """One finding for each transmitter, so that a whole file of wrong readings makes few."""
    faults: dict[str, list[str]] = {}
    for fault, index in analysis.walk_test.impossible.items():
        reading = analysis.scene.readings[index]
        faults.setdefault(reading.transmitter, []).append(f"{reading_name(reading)}: {fault.message}")
    for label, told in faults.items():
        yield Finding(
            code="readings-impossible",
            question=QUESTION,
            severity="warn",
            subject=Subject("node", label),
            sentence=f"Readings of {label} that cannot be right: {_listed(told)}.",
            remedy="Correct or delete them; they are not counted, and no calibration is made while they stand.",
            quantities=(Quantity("faults", len(told), ""),),
        )


def _readings_wanted(analysis: Analysis) -> Finding:
    scene, spots = analysis.scene, sum(len(one.spots) for one in analysis.walk_test.predictions)
    wanted = spots_wanted(shadowing_sigma_db(scene))
    found = f"Only {spots} of the walk test's spots can be used" if spots else "No usable reading was taken here"
    furthest_m = max((_furthest_m(analysis, name) for name in analysis.links), default=0.0)
    out_to = f", from a few metres out to {furthest_m:.0f} m" if furthest_m else ""
    materials = sorted({wall.material for wall in scene.walls})
    behind = f", at two spots or more behind each of: {_listed(materials)}" if materials else ""
    return Finding(
        code=NO_READINGS,
        question=QUESTION,
        severity="note",
        subject=Subject("venue", scene.venue.name),
        sentence=f"{found}; {wanted} would show a plan that is {BIAS_DB:g} dB wrong.",
        remedy=f"Take readings at {wanted} spots or more{out_to}{behind}.",
        quantities=(Quantity("spots", spots, ""), Quantity("spots wanted", wanted, "")),
    )


def _few_readings(analysis: Analysis) -> Iterator[Finding]:
    """PHYs that are in use here and were not measured, or hardly."""
    scene = analysis.scene
    spots = {scene.network(one.network).phy: len(one.spots) for one in analysis.walk_test.predictions}
    told = set[str]()
    for name in analysis.links:
        phy = scene.network(name).phy
        if spots.get(phy, 0) >= FEWEST_READINGS or phy in told or not analysis.links[name].labels:
            continue
        told.add(phy)
        wanted = spots_wanted(shadowing_sigma_db(scene))
        yield Finding(
            code="readings-few",
            question=QUESTION,
            severity="note",
            subject=Subject("network", name),
            sentence=f"The radio of network {name} was measured at {spots.get(phy, 0)} spots: too few to judge it.",
            remedy=f"Take readings of its transmitters at {wanted} spots or more.",
            quantities=(Quantity("spots", spots.get(phy, 0), ""), Quantity("spots wanted", wanted, "")),
        )


def _against_the_plan(scene: Scene, prediction: Prediction) -> Iterator[Finding]:
    errors_db, sigma_db = prediction.received_db, shadowing_sigma_db(scene)
    yield from _lost_where_strong(scene, prediction)
    if not len(errors_db):
        return
    mean_db, rms_db = float(errors_db.mean()), float(np.sqrt((errors_db**2).mean()))
    quantities = (
        Quantity("spots received", len(errors_db), ""),
        Quantity("spots lost", int(prediction.is_lost.sum()), ""),
        Quantity("mean error", mean_db, "dB"),
        Quantity("RMS error", rms_db, "dB"),
        Quantity("shadowing", sigma_db, "dB"),
    )
    yield Finding(
        code="prediction-measured",
        question=QUESTION,
        severity="note",
        subject=Subject("network", prediction.network),
        sentence=f"Over {len(errors_db)} spots the plan by {_basis(scene)} is off by {rms_db:.1f} dB (RMS),"
        f" {abs(mean_db):.1f} dB too {'much' if mean_db > 0 else 'little'} on average.",
        quantities=quantities,
        formulas=_formulas(scene),
    )
    standard_error_db = sigma_db / math.sqrt(len(errors_db))
    is_biased = abs(mean_db) > max(BIAS_DB, BIAS_STANDARD_ERRORS * standard_error_db)
    if is_biased and len(errors_db) >= FEWEST_READINGS:
        yield Finding(
            code="prediction-biased",
            question=QUESTION,
            severity="warn",
            subject=Subject("network", prediction.network),
            sentence=f"The venue is {abs(mean_db):.1f} dB {'lossier' if mean_db > 0 else 'less lossy'} than planned by"
            f" {_basis(scene)}; chance explains {BIAS_STANDARD_ERRORS * standard_error_db:.1f} dB.",
            remedy="Calibrate the venue from these readings"
            + (" again." if scene.venue.calibration else ", or check walls, heights and antennas."),
            quantities=(*quantities, Quantity("standard error", standard_error_db, "dB")),
            formulas=_formulas(scene),
            source="common practice, no source",
        )
    yield from _strays(scene, prediction, sigma_db)


def _strays(scene: Scene, prediction: Prediction, sigma_db: float) -> Iterator[Finding]:
    """Spots far from the others: what all have in common, the bias, is a finding of its own."""
    off_db = prediction.errors_db - np.median(prediction.received_db)
    rows = np.flatnonzero(~prediction.is_lost & (np.abs(off_db) > STRAY_SIGMAS * sigma_db))
    if not len(rows):
        return
    rows = rows[np.argsort(-np.abs(off_db[rows]), kind="stable")]
    told = [f"{_spot_name(scene, prediction.spots[row])} ({-off_db[row]:+.1f} dB)" for row in rows]
    yield Finding(
        code="spots-stand-out",
        question=QUESTION,
        severity="warn",
        subject=Subject("network", prediction.network),
        sentence=f"More than {STRAY_SIGMAS:g} standard deviations ({STRAY_SIGMAS * sigma_db:.1f} dB) from what the"
        f" other spots say: {_listed(told)}.",
        remedy="Measure there again, or look for a wall, a body or a reflector that the plan does not show.",
        quantities=(Quantity("spots", len(rows), ""), Quantity("greatest", float(-off_db[rows[0]]), "dB")),
        formulas=_formulas(scene),
        source="common practice, no source",
    )


def _lost_where_strong(scene: Scene, prediction: Prediction) -> Iterator[Finding]:
    """Lost spots at which the plan has the fade margin: it would call such a link usable."""
    margin_db = scene.venue.fade_margin_db
    rows = np.flatnonzero(prediction.is_lost & (prediction.errors_db >= margin_db))
    if not len(rows):
        return
    rows = rows[np.argsort(-prediction.errors_db[rows], kind="stable")]
    told = [f"{_spot_name(scene, prediction.spots[row])} ({prediction.predicted_dbm[row]:.0f} dBm)" for row in rows]
    yield Finding(
        code="lost-where-strong",
        question=QUESTION,
        severity="warn",
        subject=Subject("network", prediction.network),
        sentence=f"Nothing arrived where the plan expects at least {margin_db:g} dB above the sensitivity:"
        f" {_listed(told)}.",
        remedy="Check transmitter, antenna and radio channel, then look for what stands in the way there.",
        quantities=(
            Quantity("spots", len(rows), ""),
            Quantity("greatest margin expected", float(prediction.errors_db[rows[0]]), "dB"),
        ),
        formulas=_formulas(scene),
    )


def _newer_readings(analysis: Analysis, calibration: VenueCalibration) -> Iterator[Finding]:
    until = moment_of(calibration.latest_reading_at)
    if until is None:
        return
    scene = analysis.scene
    used = {i for one in analysis.walk_test.predictions for spot in one.spots for i in spot.indices}
    moments = [moment_of(scene.readings[index].taken_at) for index in used]
    newer = sum(moment > until for moment in moments if moment is not None)
    if newer:
        yield Finding(
            code="calibration-older",
            question=QUESTION,
            severity="note",
            subject=Subject("calibration", calibration.name),
            sentence=f"{calibration.name} knows readings up to {until:%Y-%m-%d %H:%M %Z}; {newer} are newer.",
            remedy="Fit again, compare the errors before and after, and apply it if it helps.",
            quantities=(Quantity("newer readings", newer, ""),),
        )


def _other_radio(analysis: Analysis, calibration: VenueCalibration) -> Iterator[Finding]:
    """Walls cost another amount at another frequency."""
    scene = analysis.scene
    phys = {network.name: network.phy for network in scene.networks}
    if not calibration.network:
        return
    others = [name for name in analysis.links if phys[name] != phys.get(calibration.network)]
    others = [name for name in others if analysis.links[name].labels]
    if others:
        gone = "" if calibration.network in phys else ", which is no longer in the project"
        yield Finding(
            code="calibration-other-radio",
            question=QUESTION,
            severity="warn",
            subject=Subject("calibration", calibration.name),
            sentence=f"{calibration.name} was measured with network {calibration.network}{gone}; it is used for other"
            f" radio too: {_listed(others)}.",
            remedy="Take readings of those networks and see whether it holds, or plan them without it.",
            quantities=(Quantity("networks", len(others), ""),),
        )


def _beyond_the_walk(analysis: Analysis, calibration: VenueCalibration) -> Iterator[Finding]:
    for name in analysis.links:
        furthest_m = _furthest_m(analysis, name)
        if furthest_m > calibration.furthest_m:
            yield Finding(
                code="calibration-beyond-walk",
                question=QUESTION,
                severity="note",
                subject=Subject("network", name),
                sentence=f"{calibration.name} was measured up to {calibration.furthest_m:.0f} m,"
                f" used up to {furthest_m:.0f} m.",
                remedy="Take readings further out.",
                quantities=(
                    Quantity("furthest measured", calibration.furthest_m, "m"),
                    Quantity("furthest used", furthest_m, "m"),
                ),
                formulas=_formulas(analysis.scene),
            )


def _furthest_m(analysis: Analysis, network: str) -> float:
    distance_m = analysis.links[network].distance_m
    return float(np.nanmax(distance_m)) if np.isfinite(distance_m).any() else 0.0


def _basis(scene: Scene) -> str:
    calibration = scene.venue.calibration
    return "the tables" if calibration is None else calibration.name


def _formulas(scene: Scene) -> tuple[str, ...]:
    model = model_of(scene.venue)
    return (model.formula, *(("walls_loss_db",) if model.adds_walls else ()), "received_power_dbm")


def _spot_name(scene: Scene, spot: Spot) -> str:
    reading = scene.readings[spot.indices[0]]
    x_m, y_m = reading.position_m
    return f"{reading.transmitter} at ({x_m:g}, {y_m:g}) m on {reading.level}"


def _listed(names: list[str]) -> str:
    more = len(names) - MOST_LISTED
    return "; ".join(names[:MOST_LISTED]) + (f" and {more} more" if more > 0 else "")
