"""How far straight rays run inside an upright prism: a polygon in plan, from a floor up to a height.

The polygon may be hollow; a ray may leave it and come back.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Prism:
    """`corners_m (c, 2)` of a simple polygon, from `low_m` to `high_m`."""

    corners_m: Floats
    low_m: float
    high_m: float


def length_inside_m(from_m: Floats, to_m: Floats, prism: Prism) -> Floats:
    """Length in metres, of the broadcast shape, of the rays from `from_m (..., 3)` to `to_m (..., 3)` in the prism."""
    p, q = np.broadcast_arrays(from_m, to_m)
    ray = q - p
    low, high = _shares_between(p[..., 2], ray[..., 2], prism.low_m, prism.high_m)
    cuts = _shares_at_edges(p, ray, prism.corners_m)
    bounds = np.concatenate([low[..., None], np.clip(cuts, low[..., None], high[..., None]), high[..., None]], axis=-1)
    bounds.sort(axis=-1)
    middles = (bounds[..., :-1] + bounds[..., 1:]) / 2
    at = p[..., None, :2] + middles[..., None] * ray[..., None, :2]
    spans = np.where(_inside(at, prism.corners_m), np.diff(bounds, axis=-1), 0.0)
    length: Floats = spans.sum(axis=-1) * np.linalg.norm(ray, axis=-1)
    return length


def _shares_between(start_m: Floats, rise_m: Floats, low_m: float, high_m: float) -> tuple[Floats, Floats]:
    """Which part of each ray, as shares 0 to 1, lies between two heights; an empty part has equal ends."""
    level = rise_m == 0
    safe = np.where(level, 1.0, rise_m)
    first, second = (low_m - start_m) / safe, (high_m - start_m) / safe
    entry, leaving = np.minimum(first, second), np.maximum(first, second)
    between = (start_m >= low_m) & (start_m < high_m)
    entry = np.where(level, np.where(between, 0.0, 1.0), entry)
    leaving = np.where(level, 1.0, leaving)
    entry = np.clip(entry, 0.0, 1.0)
    return entry, np.maximum(entry, np.clip(leaving, 0.0, 1.0))


def _shares_at_edges(p: Floats, ray: Floats, corners_m: Floats) -> Floats:
    """Where each ray meets the line of each edge, as shares (..., c); 0 where the two are parallel."""
    a, b = corners_m, np.roll(corners_m, -1, axis=0)
    edge = b - a
    across = ray[..., None, 0] * edge[:, 1] - ray[..., None, 1] * edge[:, 0]
    reach = (a[:, 0] - p[..., None, 0]) * edge[:, 1] - (a[:, 1] - p[..., None, 1]) * edge[:, 0]
    return np.divide(reach, across, out=np.zeros(across.shape), where=across != 0)


def _inside(at: Floats, corners_m: Floats) -> NDArray[np.bool_]:
    """Whether points (..., 2) lie in the polygon: an odd number of edges to their right."""
    x, y = at[..., 0], at[..., 1]
    inside = np.zeros(x.shape, dtype=np.bool_)
    for (ax, ay), (bx, by) in zip(corners_m, np.roll(corners_m, -1, axis=0), strict=True):
        if ay != by:
            inside ^= ((ay > y) != (by > y)) & (x < (bx - ax) * (y - ay) / (by - ay) + ax)
    return inside
