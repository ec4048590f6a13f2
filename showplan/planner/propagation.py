"""Path loss between points of a venue: the venue's chosen formula plus the walls and floors in the way.

A new formula is one function from distance to loss and one entry in PATH_LOSS_MODELS; callers do not change.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from showplan import reference
from showplan.geometry.crossings import Barriers, Slabs, crossed_barriers, crossed_slabs
from showplan.physics.free_space import free_space_loss_db
from showplan.physics.log_distance import log_distance_loss_db
from showplan.physics.multiwall import floor_loss_db
from showplan.planner.scene import Scene, VenueFacts

Floats = NDArray[np.float64]


def _free_space(distance_m: Floats, frequency_mhz: float, _: VenueFacts) -> Floats:
    return free_space_loss_db(distance_m, frequency_mhz)


def _log_distance(distance_m: Floats, frequency_mhz: float, venue: VenueFacts) -> Floats:
    return log_distance_loss_db(distance_m, frequency_mhz, venue.path_loss_exponent)


PATH_LOSS_MODELS: dict[str, Callable[[Floats, float, VenueFacts], Floats]] = {
    "free-space": _free_space,
    "log-distance": _log_distance,
}


class Propagation:
    """Path loss in one venue at one frequency."""

    def __init__(self, scene: Scene, frequency_mhz: float) -> None:
        self._venue = scene.venue
        self._frequency_mhz = frequency_mhz
        self._walls = _barriers(scene)
        self._floors = _slabs(scene)
        materials = reference.materials()
        self._wall_loss_db = [materials[wall.material].loss_db(frequency_mhz) for wall in scene.walls]
        self._floor_loss_db = [materials[level.floor_material].loss_db(frequency_mhz) for level in scene.levels]

    def path_loss_db(self, from_m: Floats, to_m: Floats) -> Floats:
        """Loss (n, m) in dB between points (n, 3) and (m, 3) in metres."""
        distance_m = np.linalg.norm(from_m[:, None, :] - to_m[None, :, :], axis=-1)
        model = PATH_LOSS_MODELS[self._venue.path_loss_model]
        loss_db = model(distance_m, self._frequency_mhz, self._venue)
        return loss_db + self._through_walls_db(from_m, to_m) + self._through_floors_db(from_m, to_m)

    def _through_walls_db(self, from_m: Floats, to_m: Floats) -> Floats:
        total_db = np.zeros((len(from_m), len(to_m)))
        for crossed, loss_db in zip(crossed_barriers(from_m, to_m, self._walls), self._wall_loss_db, strict=True):
            total_db += crossed * loss_db
        return total_db

    def _through_floors_db(self, from_m: Floats, to_m: Floats) -> Floats:
        # COST 231 counts floors of one kind; with several kinds the mean loss of those crossed stands for each.
        count = np.zeros((len(from_m), len(to_m)))
        sum_db = np.zeros_like(count)
        for crossed, loss_db in zip(crossed_slabs(from_m, to_m, self._floors), self._floor_loss_db, strict=True):
            count += crossed
            sum_db += crossed * loss_db
        if not count.any():
            return sum_db
        return floor_loss_db(count, sum_db / np.maximum(count, 1))


def _barriers(scene: Scene) -> Barriers:
    floors_m = np.array([scene.level(wall.level).elevation_m for wall in scene.walls], dtype=np.float64)
    low_m = floors_m + np.array([wall.base_m for wall in scene.walls], dtype=np.float64)
    return Barriers(
        ends_m=np.array([(wall.start_m, wall.end_m) for wall in scene.walls], dtype=np.float64).reshape(-1, 2, 2),
        low_m=low_m,
        high_m=low_m + np.array([wall.height_m for wall in scene.walls], dtype=np.float64),
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
