"""The path-loss models a venue may choose from: each a published formula, with what it leaves to the planner.

A new model is one function from a path's geometry to a loss, and one line in PATH_LOSS_MODELS.
"""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from showplan import reference
from showplan.physics.free_space import free_space_loss_db
from showplan.physics.indoor import alpha_beta_gamma_loss_db, site_general_loss_db
from showplan.physics.log_distance import log_distance_loss_db
from showplan.physics.two_ray import two_ray_loss_db
from showplan.planner.scene import VenueFacts
from showplan.reference import indoor

Floats = NDArray[np.float64]
BandRow = TypeVar("BandRow", indoor.PowerLoss, indoor.FloorLoss)
# Antennas nearer to the ground than this make the two-ray model meaningless: their own size is of that order.
LOWEST_ANTENNA_M = 0.1


@dataclass(frozen=True)
class Paths:
    """Straight paths between points, all arrays of one shape, metres; heights are above the venue's ground."""

    distance_m: Floats
    ground_distance_m: Floats
    from_height_m: Floats
    to_height_m: Floats
    walls_crossed: Floats
    floors_crossed: Floats


Loss = Callable[[Paths, float, VenueFacts], Floats]


@dataclass(frozen=True)
class PathLossModel:
    """A model: its loss, whether walls and floors are added to it, and the ranges its source states."""

    key: str
    title: str
    formula: str
    loss_db: Loss
    adds_walls: bool
    floors: Literal["added", "included"]
    lowest_mhz: float
    highest_mhz: float
    nearest_m: float
    furthest_m: float


def _free_space(paths: Paths, frequency_mhz: float, venue: VenueFacts) -> Floats:
    return free_space_loss_db(paths.distance_m, frequency_mhz)


def _log_distance(paths: Paths, frequency_mhz: float, venue: VenueFacts) -> Floats:
    exponent, offset_db = venue.path_loss_exponent, 0.0
    if venue.calibration is not None:
        exponent, offset_db = venue.calibration.path_loss_exponent, venue.calibration.reference_offset_db
    return log_distance_loss_db(paths.distance_m, frequency_mhz, exponent) + offset_db


def _site_general(paths: Paths, frequency_mhz: float, venue: VenueFacts) -> Floats:
    coefficient = _nearest_band(indoor.power_losses(), venue.surroundings, frequency_mhz).power_loss_coefficient
    floors_db = _floor_terms_db(venue.surroundings, frequency_mhz, paths.floors_crossed)
    return site_general_loss_db(paths.distance_m, frequency_mhz, coefficient, floors_db)


def _floor_terms_db(surroundings: str, frequency_mhz: float, floors: Floats) -> Floats:
    row = _nearest_band(indoor.floor_losses(), surroundings, frequency_mhz)
    terms = np.zeros(floors.shape)
    for count in np.unique(floors[floors > 0]).astype(int):
        terms[floors == count] = _floors_db(row, int(count))
    return terms


def _floors_db(row: indoor.FloorLoss, count: int) -> float:
    """Loss of so many floors; past the last published number each costs as much as the last step."""
    try:
        return row.loss_db(count)
    except reference.OutsideTable:
        listed = (0.0, *row.losses_db)
        return listed[-1] + (listed[-1] - listed[-2]) * (count - len(row.losses_db))


def _nearest_band(rows: Iterable[BandRow], surroundings: str, frequency_mhz: float) -> BandRow:
    """The row of these surroundings whose band holds the frequency, or else lies nearest to it."""

    def octaves_off(row: BandRow) -> float:
        return max(0.0, math.log2(row.low_mhz / frequency_mhz), math.log2(frequency_mhz / row.high_mhz))

    return min((row for row in rows if row.environment == surroundings), key=octaves_off)


def _by_sight(paths: Paths, frequency_mhz: float, venue: VenueFacts) -> Floats:
    """The clear-view row where nothing is crossed, the other where something is."""
    rows = [indoor.alpha_beta_gamma()[f"{venue.surroundings}-{view}-view"] for view in ("clear", "no")]
    clear_db, blocked_db = (
        alpha_beta_gamma_loss_db(paths.distance_m, frequency_mhz, row.alpha, row.beta_db, row.gamma) for row in rows
    )
    blocked = (paths.walls_crossed > 0) | (paths.floors_crossed > 0)
    # The row for a blocked view may start below the clear one close by; a wall never helps.
    return np.where(blocked, np.maximum(clear_db, blocked_db), clear_db)


def _two_ray(paths: Paths, frequency_mhz: float, venue: VenueFacts) -> Floats:
    from_m = np.maximum(paths.from_height_m, LOWEST_ANTENNA_M)
    to_m = np.maximum(paths.to_height_m, LOWEST_ANTENNA_M)
    return two_ray_loss_db(paths.ground_distance_m, frequency_mhz, from_m, to_m)


PATH_LOSS_MODELS: Mapping[str, PathLossModel] = {
    model.key: model
    for model in (
        PathLossModel(
            "free-space",
            "free space, walls and floors",
            "free_space_loss_db",
            _free_space,
            True,
            "added",
            1,
            1e5,
            1,
            1e5,
        ),
        PathLossModel(
            "log-distance",
            "log-distance, walls and floors",
            "log_distance_loss_db",
            _log_distance,
            True,
            "added",
            800,
            2500,
            1,
            300,
        ),
        PathLossModel(
            "site-general",
            "site-general indoor (ITU-R P.1238)",
            "site_general_loss_db",
            _site_general,
            False,
            "included",
            800,
            5350,
            1,
            1000,
        ),
        PathLossModel(
            "indoor-by-sight",
            "indoor by clear or blocked view (ITU-R P.1238)",
            "alpha_beta_gamma_loss_db",
            _by_sight,
            False,
            "included",
            625,
            70_000,
            2,
            160,
        ),
        PathLossModel(
            "two-ray", "two rays over flat ground, walls", "two_ray_loss_db", _two_ray, True, "added", 100, 6000, 1, 1e5
        ),
    )
}
# Which surroundings of the reference tables the two models without a wall plan know.
SURROUNDINGS: Mapping[str, tuple[str, ...]] = {
    "site-general": tuple(dict.fromkeys(row.environment for row in indoor.floor_losses())),
    "indoor-by-sight": tuple(
        key.removesuffix("-clear-view")
        for key, row in indoor.alpha_beta_gamma().items()
        if key.endswith("-clear-view") and row.use == "planning"
    ),
}


def model_of(venue: VenueFacts) -> PathLossModel:
    """The venue's chosen model."""
    return PATH_LOSS_MODELS[venue.path_loss_model]


def outside_ranges(venue: VenueFacts, frequency_mhz: float, furthest_m: float) -> list[str]:
    """A sentence for each way in which the model is used outside what its source states."""
    model = model_of(venue)
    sentences = []
    if not model.lowest_mhz <= frequency_mhz <= model.highest_mhz:
        stated = f"{model.lowest_mhz:g} to {model.highest_mhz:g} MHz"
        sentences.append(f"{model.title}: stated for {stated}, used at {frequency_mhz:g} MHz.")
    if furthest_m > model.furthest_m:
        sentences.append(f"{model.title}: stated up to {model.furthest_m:g} m, used up to {furthest_m:.0f} m.")
    if model.key == "site-general":
        row = _nearest_band(indoor.power_losses(), venue.surroundings, frequency_mhz)
        if not row.low_mhz <= frequency_mhz <= row.high_mhz:
            band = f"{row.low_mhz:g} to {row.high_mhz:g} MHz"
            sentences.append(
                f"{model.title}: the row for {venue.surroundings} is for {band}, used at {frequency_mhz:g} MHz."
            )
    return sentences
