"""Was the prediction right? A venue's path-loss model fitted to its walk-test readings.

The model is the planner's own: loss = L1 + 10 n log10(d / 1 m) + sum of wall and floor terms. Its coefficients start
from what is known before measuring: free space at 1 m, the venue's exponent, the material table. Readings at one
spot are averaged first, in dB (-60 and -80 dBm give -70, not the -62.97 of a mean in mW). `fitting.fit` is the same
on arrays. Widths of the priors, and what the environment's sigma counts for: common practice, no source.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from functools import cached_property
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from showplan import reference
from showplan.physics.free_space import free_space_loss_db
from showplan.planner.faults import Fault
from showplan.planner.findings import Finding, Quantity, Subject
from showplan.planner.fitting import CalibrationError as CalibrationError
from showplan.planner.fitting import Fit as Fit
from showplan.planner.fitting import Priors as Priors
from showplan.planner.fitting import fit as fit
from showplan.planner.links import centre_frequency_mhz
from showplan.planner.path_loss import outside_ranges
from showplan.planner.propagation import Propagation
from showplan.planner.scene import Network, Scene, VenueCalibration, WallLoss
from showplan.planner.walk_test import (
    Spot,
    latest_of,
    reading_name,
    refuse_impossible,
    refuse_too_few,
    usable_spots,
)

Floats = NDArray[np.float64]

QUESTION: Final = "prediction-right"
FORMULAS: Final = ("log_distance_loss_db", "walls_loss_db", "floor_loss_db", "received_power_dbm")
REFERENCE_LOSS_WIDTH_DB: Final = 3.0  # standard deviations of the priors
EXPONENT_WIDTH: Final = 0.5
WALL_WIDTH_DB: Final = 3.0
FLOOR_WIDTH_DB: Final = 5.0
SIGMA_WORTH: Final = 4.0  # readings; what the environment's shadowing sigma counts for
OUTLIER_WEIGHT: Final = 0.5

Kind = Literal["reference loss", "exponent", "wall", "floor"]
State = Literal["used", "lost", "left out"]


@dataclass(frozen=True)
class Coefficient:
    """One number of the model with its prior. `positions` counts the places whose readings bear on it."""

    kind: Kind
    material: str
    value: float
    standard_error: float
    prior: float
    prior_width: float
    positions: int
    is_kept: bool
    is_at_zero: bool

    @property
    def name(self) -> str:
        """Kind and material in words."""
        return f"{self.kind} {self.material}".strip()


@dataclass(frozen=True)
class ReadingOutcome:
    """What became of one reading, by its place in the Scene; predictions are those of its spot."""

    index: int
    name: str
    state: State
    reason: str = ""
    distance_m: float | None = None
    received_dbm: float | None = None
    before_dbm: float | None = None
    after_dbm: float | None = None
    residual_db: float | None = None
    weight: float | None = None


@dataclass(frozen=True)
class Calibration:
    """A venue's model fitted to its readings; `covariance` is in the order of `coefficients`.

    `rms_before_db` is the error of the venue's present model over the spots received, `rms_after_db` that of the
    fitted one when it predicts each spot from the others; `bias_before_db` is present prediction less reading.
    """

    network: str
    frequency_mhz: float
    coefficients: tuple[Coefficient, ...]
    covariance: tuple[tuple[float, ...], ...]
    sigma_db: float
    sigma_before_db: float
    rms_before_db: float
    rms_after_db: float
    bias_before_db: float
    spots: int
    spots_lost: int
    measured_distance_m: tuple[float, float]
    condition_number: float
    latest_reading_at: str
    outside_ranges: tuple[str, ...]
    readings: tuple[ReadingOutcome, ...]

    @property
    def reference_loss_db(self) -> float:
        """Loss at 1 m."""
        return self.coefficients[0].value

    @property
    def exponent(self) -> float:
        """Path-loss exponent n."""
        return self.coefficients[1].value

    def losses_db(self, kind: Literal["wall", "floor"]) -> dict[str, float]:
        """Fitted loss of one crossing by material."""
        return {found.material: found.value for found in self.coefficients if found.kind == kind}

    def for_scene(self, name: str) -> VenueCalibration:
        """The part that a Scene carries once the calibration is applied, under that name."""
        losses = [found for found in self.coefficients if found.kind in ("wall", "floor")]
        return VenueCalibration(
            name=name,
            reference_offset_db=self.reference_loss_db - float(free_space_loss_db(1.0, self.frequency_mhz)),
            path_loss_exponent=self.exponent,
            shadowing_sigma_db=self.sigma_db,
            wall_losses=tuple(
                WallLoss(kind=found.kind, material=found.material, loss_db=max(0.0, found.value))  # type: ignore[arg-type]
                for found in losses
            ),
            furthest_m=self.measured_distance_m[1],
            network=self.network,
            latest_reading_at=self.latest_reading_at,
        )

    def is_extrapolation(self, distance_m: float) -> bool:
        """Whether a distance lies outside those that were measured."""
        nearest_m, farthest_m = self.measured_distance_m
        return not nearest_m <= distance_m <= farthest_m

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What the crew should know, the gravest first."""
        return tuple(sorted(_findings(self), key=lambda finding: finding.rank))

    def as_dict(self) -> dict[str, Any]:
        """Everything as plain values for JSON, findings included."""
        return asdict(self) | {"findings": [asdict(finding) for finding in self.findings]}


def calibrate(scene: Scene, network: Network) -> Calibration:
    """Fit the venue's model to the readings of all transmitters that use the PHY of `network`.

    The receiver of a walk test counts as not worn; body loss is taken off where the transmitter is worn. A spot
    with half its readings lost or more counts as lost, else as the mean in dB of those received. Raises
    CalibrationError for readings that cannot be right, fewer than three, none received, or all at one place.
    """
    frequency_mhz = centre_frequency_mhz(scene, network)
    if frequency_mhz is None:
        raise CalibrationError([Fault("/networks", f"network {network.name!r} needs a radio channel that its PHY has")])
    refuse_impossible(scene)
    left_out: dict[int, str] = {}
    spots = usable_spots(scene, network, frequency_mhz, left_out)
    refuse_too_few(spots)

    present, bare_scene = Propagation(scene, frequency_mhz), _uncalibrated(scene)
    propagation = Propagation(bare_scene, frequency_mhz)
    from_m, to_m = (np.concatenate([getattr(spot, end) for spot in spots]) for end in ("from_m", "to_m"))
    before_db = present.path_loss_of_pairs_db(from_m, to_m)
    terms = [propagation.obstacle_terms(s.from_m, s.to_m) for s in spots]
    distance_m = np.linalg.norm(from_m - to_m, axis=1)
    groups = list(terms[0])
    columns = [np.ones(len(spots)), 10 * np.log10(distance_m), *(np.array([t[g][0, 0] for t in terms]) for g in groups)]
    places = [len({s.place for s, value in zip(spots, column, strict=True) if value}) for column in columns]
    is_kept = np.array([False, bool(np.ptp(distance_m) == 0), *(count < 2 for count in places[2:])])
    is_lost = np.array([s.is_lost for s in spots])
    budget_db = np.array([s.budget_db for s in spots])
    observed_dbm = np.array([s.mean_dbm for s in spots])
    priors = _priors(bare_scene, frequency_mhz, propagation.reference_loss_db, groups)
    design = np.column_stack(columns)
    # What the model adds beyond its coefficients, such as an open-topped obstacle, is taken as it is.
    fixed_db = propagation.path_loss_of_pairs_db(from_m, to_m) - design @ priors.mean
    found = fit(design, budget_db - fixed_db - observed_dbm, priors, is_lost, is_kept=is_kept)

    error_before_db, received = budget_db - before_db - observed_dbm, ~is_lost
    return Calibration(
        network=network.name,
        frequency_mhz=frequency_mhz,
        coefficients=_coefficients(groups, found, priors, places),
        covariance=tuple(tuple(map(float, row)) for row in found.covariance),
        sigma_db=found.sigma_db,
        sigma_before_db=priors.sigma_db,
        rms_before_db=float(np.sqrt((error_before_db[received] ** 2).mean())),
        rms_after_db=float(np.sqrt((found.left_out_residuals[received] ** 2).mean())),
        bias_before_db=float(error_before_db[received].mean()),
        spots=len(spots),
        spots_lost=int(is_lost.sum()),
        measured_distance_m=(float(distance_m.min()), float(distance_m.max())),
        condition_number=found.condition_number,
        outside_ranges=tuple(outside_ranges(bare_scene.venue, frequency_mhz, float(distance_m.max()))),
        latest_reading_at=latest_of(scene.readings[index].taken_at for spot in spots for index in spot.indices),
        readings=_outcomes(scene, left_out, spots, distance_m, budget_db - before_db, found),
    )


def _uncalibrated(scene: Scene) -> Scene:
    """The Scene with the model that is fitted, and with the tables' values: what is known before measuring."""
    venue = scene.venue
    model: Any = "free-space" if venue.path_loss_model == "free-space" else "log-distance"
    return replace(scene, venue=replace(venue, calibration=None, path_loss_model=model))


def _coefficients(
    groups: list[tuple[str, str]], found: Fit, priors: Priors, places: list[int]
) -> tuple[Coefficient, ...]:
    kinds: list[tuple[Any, str]] = [("reference loss", ""), ("exponent", ""), *groups]
    return tuple(
        Coefficient(
            kind=kind,
            material=material,
            value=float(found.values[i]),
            standard_error=float(found.standard_errors[i]),
            prior=float(priors.mean[i]),
            prior_width=float(priors.width[i]),
            positions=places[i],
            is_kept=bool(found.is_kept[i]),
            is_at_zero=bool(found.is_at_bound[i]),
        )
        for i, (kind, material) in enumerate(kinds)
    )


def _outcomes(
    scene: Scene, left_out: dict[int, str], spots: list[Spot], distance_m: Floats, before_dbm: Floats, found: Fit
) -> tuple[ReadingOutcome, ...]:
    names = [reading_name(reading) for reading in scene.readings]
    outcomes = {index: ReadingOutcome(index, names[index], "left out", reason) for index, reason in left_out.items()}
    for row, spot in enumerate(spots):
        after_dbm = float(spot.mean_dbm + found.residuals[row])
        for index in spot.indices:
            level_dbm = None if spot.is_lost else scene.readings[index].received_dbm
            outcomes[index] = ReadingOutcome(
                index=index,
                name=names[index],
                state="lost" if spot.is_lost else "used",
                distance_m=float(distance_m[row]),
                received_dbm=level_dbm,
                before_dbm=float(before_dbm[row]),
                after_dbm=after_dbm,
                residual_db=None if level_dbm is None else level_dbm - after_dbm,
                weight=float(found.weights[row]),
            )
    return tuple(outcomes[index] for index in sorted(outcomes))


def _priors(scene: Scene, frequency_mhz: float, reference_loss_db: float, groups: list[tuple[str, str]]) -> Priors:
    venue, materials = scene.venue, reference.materials()
    exponent = 2.0 if venue.path_loss_model == "free-space" else venue.path_loss_exponent
    widths = [WALL_WIDTH_DB if kind == "wall" else FLOOR_WIDTH_DB for kind, _ in groups]
    return Priors(
        mean=np.array([reference_loss_db, exponent, *(materials[key].loss_db(frequency_mhz) for _, key in groups)]),
        width=np.array([REFERENCE_LOSS_WIDTH_DB, EXPONENT_WIDTH, *widths]),
        lowest=np.array([-np.inf, -np.inf, *([0.0] * len(groups))]),
        sigma_db=reference.environments()[venue.environment].shadowing_sigma_db,
        sigma_worth=SIGMA_WORTH,
    )


def _findings(calibration: Calibration) -> Iterator[Finding]:
    venue = Subject("network", calibration.network)
    before, after = calibration.rms_before_db, calibration.rms_after_db
    helps = after < before
    yield Finding(
        code="calibration-helps" if helps else "calibration-no-help",
        question=QUESTION,
        severity="note" if helps else "warn",
        subject=venue,
        sentence=f"Over {calibration.spots} spots the present model is off by {before:.1f} dB (RMS), the calibrated one"
        f" by {after:.1f} dB at spots it has not seen.",
        remedy="" if helps else "Keep the present model, or take more readings behind each kind of wall.",
        quantities=(
            Quantity("error before", before, "dB"),
            Quantity("error after", after, "dB"),
            Quantity("shadowing", calibration.sigma_db, "dB"),
            Quantity("nearest measured", calibration.measured_distance_m[0], "m"),
            Quantity("farthest measured", calibration.measured_distance_m[1], "m"),
        ),
        formulas=FORMULAS,
    )
    received = calibration.spots - calibration.spots_lost
    if abs(bias_db := calibration.bias_before_db) > 2 * before / np.sqrt(received):
        yield Finding(
            code="prediction-off",
            question=QUESTION,
            severity="warn" if bias_db > 0 else "note",
            subject=venue,
            sentence=f"The present model predicts {abs(bias_db):.1f} dB too {'much' if bias_db > 0 else 'little'}.",
            remedy="Apply the calibration.",
            quantities=(Quantity("bias", bias_db, "dB"),),
            formulas=FORMULAS,
        )
    if kept := [found.name for found in calibration.coefficients if found.is_kept]:
        yield Finding(
            code="coefficients-kept",
            question=QUESTION,
            severity="note",
            subject=venue,
            sentence=f"Fewer than two places measure these, so they keep their value: {', '.join(kept)}.",
            remedy="Take readings at two places or more behind each.",
            quantities=(Quantity("coefficients kept", len(kept), ""),),
        )
    for found in calibration.coefficients:
        if found.is_at_zero:
            yield Finding(
                code="wall-loss-at-zero",
                question=QUESTION,
                severity="warn",
                subject=Subject("material", found.material),
                sentence=f"The readings ask for a {found.kind} that amplifies; its loss is held at 0 dB.",
                remedy="Check where this material is drawn, and the readings behind it.",
                quantities=(Quantity("standard error", found.standard_error, "dB"),),
            )
    for outcome in calibration.readings:
        if outcome.weight is not None and outcome.weight < OUTLIER_WEIGHT and outcome.residual_db is not None:
            yield Finding(
                code="reading-stands-out",
                question=QUESTION,
                severity="warn",
                subject=Subject("reading", outcome.name),
                sentence=f"{outcome.name} is {outcome.residual_db:+.1f} dB from the calibrated model and counts less.",
                remedy="Measure it again, or look for a wall, a body or a reflector that the plan does not show.",
                quantities=(Quantity("residual", outcome.residual_db, "dB"), Quantity("weight", outcome.weight, "")),
            )
    for number, sentence in enumerate(calibration.outside_ranges, 1):
        yield Finding(
            code=f"model-outside-range-{number}",
            question=QUESTION,
            severity="note",
            subject=venue,
            sentence=sentence,
            remedy="The fit holds for what was measured; do not carry it to other distances or frequencies.",
            formulas=FORMULAS,
        )
    for reason, count in Counter(outcome.reason for outcome in calibration.readings if outcome.reason).items():
        yield Finding(
            code="readings-left-out",
            question=QUESTION,
            severity="note",
            subject=venue,
            sentence=f"{count} of the readings were left out: {reason}.",
            quantities=(Quantity("readings", count, ""),),
        )
