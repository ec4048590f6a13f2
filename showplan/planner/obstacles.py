"""What stands between two points of a venue, as arrays: walls, floors, open-topped obstacles and the crowd."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from showplan import reference
from showplan.geometry.crossings import Barriers, Slabs
from showplan.geometry.prisms import Prism
from showplan.planner.scene import Scene, Wall

Floats = NDArray[np.float64]
HouseState = Literal["empty", "full"]
HOUSE_STATES: tuple[HouseState, ...] = ("empty", "full")


def states_of(scene: Scene) -> tuple[HouseState, ...]:
    """Both states where a crowd or the audience's radio makes a difference, else the empty house alone."""
    louder = any(
        one.full_house_dbm is not None or one.full_house_busy_share is not None for one in scene.occupied_spectrum
    )
    return HOUSE_STATES if scene.crowd_areas or louder else HOUSE_STATES[:1]


@dataclass(frozen=True)
class Crowd:
    """One crowd area: its prism, its loss a metre and the most it can cost."""

    prism: Prism
    loss_db_per_m: float
    most_db: float


@dataclass(frozen=True)
class Obstacles:
    """Everything that adds loss, with each one's loss at one frequency.

    `materials` names the material of each wall, `floor_materials` that of each slab, in the same order.
    """

    walls: Barriers
    wall_loss_db: Floats
    materials: tuple[str, ...]
    open_topped: Barriers
    open_topped_loss_db: Floats
    floors: Slabs
    floor_loss_db: Floats
    floor_materials: tuple[str, ...]
    crowds: tuple[Crowd, ...]


def obstacles_of(scene: Scene, frequency_mhz: float, state: HouseState) -> Obstacles:
    """The obstacles of a venue; the crowd only when the house is full."""
    closed = [wall for wall in scene.walls if not wall.has_open_top]
    open_topped = [wall for wall in scene.walls if wall.has_open_top]
    losses = _Losses.of(scene, frequency_mhz)
    return Obstacles(
        walls=_barriers(scene, closed),
        wall_loss_db=np.array([losses.wall_db(wall.material) for wall in closed]),
        materials=tuple(wall.material for wall in closed),
        open_topped=_barriers(scene, open_topped),
        open_topped_loss_db=np.array([losses.wall_db(wall.material) for wall in open_topped]),
        floors=_slabs(scene),
        floor_loss_db=np.array([losses.floor_db(level.floor_material) for level in scene.levels]),
        floor_materials=tuple(level.floor_material for level in scene.levels),
        crowds=_crowds(scene) if state == "full" else (),
    )


@dataclass(frozen=True)
class _Losses:
    """Losses by material: those of the venue's calibration where it has them, else of the table."""

    frequency_mhz: float
    calibrated: Mapping[tuple[str, str], float]

    @classmethod
    def of(cls, scene: Scene, frequency_mhz: float) -> "_Losses":
        calibration = scene.venue.calibration
        found = calibration.wall_losses if calibration is not None else ()
        return cls(frequency_mhz, {(one.kind, one.material): one.loss_db for one in found})

    def wall_db(self, material: str) -> float:
        return self._loss_db("wall", material)

    def floor_db(self, material: str) -> float:
        return self._loss_db("floor", material)

    def _loss_db(self, kind: str, material: str) -> float:
        known = self.calibrated.get((kind, material))
        return known if known is not None else reference.materials()[material].loss_db(self.frequency_mhz)


def _barriers(scene: Scene, walls: list[Wall]) -> Barriers:
    floors_m = np.array([scene.level(wall.level).elevation_m for wall in walls], dtype=np.float64)
    low_m = floors_m + np.array([wall.base_m for wall in walls], dtype=np.float64)
    return Barriers(
        ends_m=np.array([(wall.start_m, wall.end_m) for wall in walls], dtype=np.float64).reshape(-1, 2, 2),
        low_m=low_m,
        high_m=low_m + np.array([wall.height_m for wall in walls], dtype=np.float64),
    )


def _slabs(scene: Scene) -> Slabs:
    corners = [
        (level.origin_m, (level.origin_m[0] + level.width_m, level.origin_m[1] + level.depth_m))
        for level in scene.levels
    ]
    return Slabs(
        corners_m=np.array(corners, dtype=np.float64).reshape(-1, 2, 2),
        elevation_m=np.array([level.elevation_m for level in scene.levels], dtype=np.float64),
    )


def _crowds(scene: Scene) -> tuple[Crowd, ...]:
    return tuple(
        Crowd(
            Prism(
                np.array(area.corners_m, dtype=np.float64),
                scene.level(area.level).elevation_m,
                scene.level(area.level).elevation_m + area.height_m,
            ),
            area.loss_db_per_m,
            area.most_db,
        )
        for area in scene.crowd_areas
    )
