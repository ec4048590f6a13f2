"""Points that stand for an area: over a polygon, and over the cells of a grid."""

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def points_in_polygon(corners_m: Sequence[Sequence[float]], *, most: int = 100, finest_m: float = 0.25) -> Floats:
    """Points (k, 2) in metres spread evenly over the polygon: a square lattice of about `most` points.

    The lattice is never finer than `finest_m`; a polygon too small for it has one point, somewhere inside.
    """
    polygon = shapely.Polygon(corners_m)
    step_m = max(finest_m, math.sqrt(polygon.area / most))
    low_x, low_y, high_x, high_y = polygon.bounds
    x, y = _middles(low_x, high_x, step_m), _middles(low_y, high_y, step_m)
    lattice = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    inside: Floats = lattice[shapely.contains_xy(polygon, lattice[:, 0], lattice[:, 1])]
    if len(inside):
        return inside
    middle = polygon.representative_point()
    return np.array([[middle.x, middle.y]])


def _middles(low_m: float, high_m: float, step_m: float) -> Floats:
    """Middles of equal cells of about `step_m` that fill the span exactly."""
    count = max(1, round((high_m - low_m) / step_m))
    middles: Floats = low_m + (np.arange(count) + 0.5) * (high_m - low_m) / count
    return middles


def grid_centres(origin_m: tuple[float, float], width_m: float, depth_m: float, step_m: float) -> tuple[Floats, Floats]:
    """Cell centres (columns,) and (rows,) in metres; the last cell is cut off at the edge, its centre moved in."""
    return _centres(origin_m[0], width_m, step_m), _centres(origin_m[1], depth_m, step_m)


def _centres(start_m: float, length_m: float, step_m: float) -> Floats:
    edges = np.append(np.arange(0.0, length_m - 1e-9, step_m), length_m)
    centres: Floats = start_m + (edges[:-1] + edges[1:]) / 2
    return centres
