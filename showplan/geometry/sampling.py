"""Points that stand for an area: over a polygon, and over the cells of a grid."""

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def points_in_polygon(corners_m: Sequence[Sequence[float]], *, most: int = 60, finest_m: float = 0.5) -> Floats:
    """Points (k, 2) in metres that stand for the polygon: its corners and a square lattice of about `most` points.

    The lattice is never finer than `finest_m`. The corners are always there, so that the farthest are judged.
    """
    polygon = shapely.Polygon(corners_m)
    step_m = max(finest_m, math.sqrt(polygon.area / most))
    low_x, low_y, high_x, high_y = polygon.bounds
    x = np.arange(low_x + step_m / 2, high_x, step_m)
    y = np.arange(low_y + step_m / 2, high_y, step_m)
    lattice = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    inside = lattice[shapely.contains_xy(polygon, lattice[:, 0], lattice[:, 1])]
    return np.concatenate([np.asarray(corners_m, dtype=np.float64), inside])


def grid_centres(origin_m: tuple[float, float], width_m: float, depth_m: float, step_m: float) -> tuple[Floats, Floats]:
    """Cell centres (columns,) and (rows,) in metres; the last cell is cut off at the edge, its centre moved in."""
    return _centres(origin_m[0], width_m, step_m), _centres(origin_m[1], depth_m, step_m)


def _centres(start_m: float, length_m: float, step_m: float) -> Floats:
    edges = np.append(np.arange(0.0, length_m - 1e-9, step_m), length_m)
    centres: Floats = start_m + (edges[:-1] + edges[1:]) / 2
    return centres
