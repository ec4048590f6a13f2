"""Path loss between points of a venue: the chosen model, the walls and floors in the way, obstacles and the crowd."""

from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from showplan.geometry.crossings import (
    crossed_slabs,
    share_at_wall,
    slabs_on_rays,
    sum_crossed,
    sum_crossed_by_pairs,
)
from showplan.geometry.prisms import length_inside_m
from showplan.geometry.shadows import slabs_crossed_on_grid, wall_loss_on_grid_db
from showplan.physics.knife_edge import obstacle_loss_db
from showplan.physics.multiwall import floor_loss_db
from showplan.planner.obstacles import HouseState, obstacles_of
from showplan.planner.path_loss import Paths, model_of
from showplan.planner.scene import Scene

Floats = NDArray[np.float64]
Booleans = NDArray[np.bool_]
# An edge is never nearer to an antenna than this: the formula is for edges many wavelengths away.
NEAREST_EDGE_M = 0.1
CELLS_AT_ONCE = 20_000


class Propagation:
    """Path loss in one venue, at one frequency, in one state of the house."""

    def __init__(self, scene: Scene, frequency_mhz: float, state: HouseState = "empty") -> None:
        self._venue = scene.venue
        self._model = model_of(scene.venue)
        self._frequency_mhz = frequency_mhz
        self._ground_m = min((level.elevation_m for level in scene.levels), default=0.0)
        self._obstacles = obstacles_of(scene, frequency_mhz, state)

    @property
    def reference_loss_db(self) -> float:
        """Loss in the open at 1 m, where the venue's formula starts."""
        one = np.ones(1)
        return float(
            self._model.loss_db(Paths(one, one, one, one, 0 * one, 0 * one), self._frequency_mhz, self._venue)[0]
        )

    def path_loss_db(self, from_m: Floats, to_m: Floats) -> Floats:
        """Loss (n, m) in dB between points (n, 3) and (m, 3) in metres."""
        crossed = sum_crossed(from_m, to_m, self._obstacles.walls, self._wall_weights())
        return self._on_rays_db(from_m[:, None, :], to_m[None, :, :], crossed)

    def path_loss_of_pairs_db(self, from_m: Floats, to_m: Floats) -> Floats:
        """Loss (n,) in dB from each point of `from_m` (n, 3) to the one in the same row of `to_m` (n, 3), metres."""
        crossed = sum_crossed_by_pairs(from_m, to_m, self._obstacles.walls, self._wall_weights())
        return self._on_rays_db(from_m, to_m, crossed)

    def _wall_weights(self) -> Floats:
        """Loss in dB and count of each wall (w, 2)."""
        return np.column_stack([self._obstacles.wall_loss_db, np.ones(len(self._obstacles.walls))])

    def _on_rays_db(self, p: Floats, q: Floats, crossed: Floats) -> Floats:
        floors = list(slabs_on_rays(p, q, self._obstacles.floors))
        return self._assembled(p, q, crossed[..., 0], crossed[..., 1], floors)

    def path_loss_on_grid_db(self, from_m: Floats, x_m: Floats, y_m: Floats, z_m: float) -> Floats:
        """Loss (rows, columns) in dB from a point (3,) to cells at `x_m`, `y_m` and one height; metres.

        The same as `path_loss_db` to a thousandth of a dB per wall, in a fraction of its time and memory.
        """
        obstacles = self._obstacles
        walls = obstacles.walls
        walls_db = wall_loss_on_grid_db(from_m, x_m, y_m, z_m, walls, obstacles.wall_loss_db).astype(np.float64)
        count = walls_db
        if not self._model.adds_walls:
            count = wall_loss_on_grid_db(from_m, x_m, y_m, z_m, walls, np.ones(len(walls))).astype(np.float64)
        floors = list(slabs_crossed_on_grid(from_m, x_m, y_m, z_m, obstacles.floors))
        cells = np.stack(np.broadcast_arrays(x_m[None, :], y_m[:, None], np.float64(z_m)), axis=-1)
        rows_at_once = max(1, CELLS_AT_ONCE // max(1, len(x_m)))
        parts = [
            self._assembled(from_m, cells[some], walls_db[some], count[some], [floor[some] for floor in floors])
            for some in (slice(row, row + rows_at_once) for row in range(0, len(y_m), rows_at_once))
        ]
        return np.concatenate(parts)

    def obstacle_terms(self, from_m: Floats, to_m: Floats) -> dict[tuple[str, str], Floats]:
        """By ("wall" | "floor", material): what that material's loss is multiplied by, (n, m).

        Path loss is the loss in the open plus the sum of these terms, each times the loss of its material: the
        walls crossed, and the floors crossed with the lessening that COST 231 gives to several.
        """
        shape = (len(from_m), len(to_m))
        obstacles = self._obstacles
        materials = list(dict.fromkeys(obstacles.materials))
        is_of = np.array([[one == material for material in materials] for one in obstacles.materials], dtype=np.float64)
        walls = sum_crossed(from_m, to_m, obstacles.walls, is_of.reshape(len(obstacles.materials), len(materials)))
        terms = {("wall", material): walls[..., index] for index, material in enumerate(materials)}
        floors: dict[str, Floats] = {}
        slabs = crossed_slabs(from_m, to_m, obstacles.floors)
        for crossed, material in zip(slabs, obstacles.floor_materials, strict=True):
            floors[material] = floors.get(material, np.zeros(shape)) + crossed
        count = sum(floors.values(), start=np.zeros(shape))
        weight = floor_loss_db(count, 1.0) / np.maximum(count, 1)
        return terms | {("floor", material): weight * of_it for material, of_it in floors.items()}

    def _assembled(self, p: Floats, q: Floats, walls_db: Floats, walls: Floats, floors: list[Booleans]) -> Floats:
        """The loss along rays from `p` to `q` (..., 3), from what each crosses."""
        ray = q - p
        floor_count = _sum(crossed * 1.0 for crossed in floors)
        shape = ray.shape[:-1]
        paths = Paths(
            distance_m=_length_m(ray),
            ground_distance_m=_length_m(ray[..., :2]),
            from_height_m=np.broadcast_to(p[..., 2] - self._ground_m, shape),
            to_height_m=np.broadcast_to(q[..., 2] - self._ground_m, shape),
            walls_crossed=np.asarray(walls, dtype=np.float64),
            floors_crossed=np.broadcast_to(floor_count, shape),
        )
        loss_db = self._model.loss_db(paths, self._frequency_mhz, self._venue)
        if self._model.adds_walls:
            loss_db = loss_db + walls_db + self._over_or_through_db(p, q)
        if self._model.floors == "added":
            loss_db = loss_db + self._through_floors_db(floors, np.broadcast_to(floor_count, shape))
        return loss_db + self._through_crowd_db(p, q)

    def _through_floors_db(self, floors: list[Booleans], count: Floats) -> Floats:
        # COST 231 counts floors of one kind; with several kinds the mean loss of those crossed stands for each.
        if not count.any():
            return np.zeros(count.shape)
        sum_db = _sum(crossed * loss_db for crossed, loss_db in zip(floors, self._obstacles.floor_loss_db, strict=True))
        return np.asarray(floor_loss_db(count, sum_db / np.maximum(count, 1)))

    def _over_or_through_db(self, p: Floats, q: Floats) -> Floats:
        """Open-topped obstacles: each costs what is less, the way through or the way over its edge."""
        obstacles = self._obstacles
        return _sum(
            self._one_open_topped_db(p, q, index, float(loss_db))
            for index, loss_db in enumerate(obstacles.open_topped_loss_db)
        )

    def _one_open_topped_db(self, p: Floats, q: Floats, index: int, through_db: float) -> Floats:
        barriers = self._obstacles.open_topped
        share = share_at_wall(p, q, barriers.ends_m[index])
        in_plan, share = ~np.isnan(share), np.nan_to_num(share)
        height_m = p[..., 2] + share * (q[..., 2] - p[..., 2])
        distance_m = _length_m(q - p)
        to_a_m = np.maximum(share * distance_m, NEAREST_EDGE_M)
        to_b_m = np.maximum((1 - share) * distance_m, NEAREST_EDGE_M)
        over_db = obstacle_loss_db(barriers.high_m[index] - height_m, to_a_m, to_b_m, self._frequency_mhz)
        return np.where(in_plan & (height_m >= barriers.low_m[index]), np.minimum(over_db, through_db), 0.0)

    def _through_crowd_db(self, p: Floats, q: Floats) -> Floats:
        return _sum(
            np.minimum(length_inside_m(p, q, crowd.prism) * crowd.loss_db_per_m, crowd.most_db)
            for crowd in self._obstacles.crowds
        )


def _length_m(ray: Floats) -> Floats:
    """Length of each ray (..., 2 or 3); numpy's own norm takes six times as long along so short an axis."""
    length: Floats = np.sqrt(sum(ray[..., axis] ** 2 for axis in range(ray.shape[-1])))
    return length


def _sum(parts: Iterable[NDArray[np.floating[Any]]]) -> Floats:
    total: Floats = np.zeros(())
    for part in parts:
        total = total + part
    return total
