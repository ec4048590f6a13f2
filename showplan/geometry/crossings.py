"""Which straight rays cross which walls and floors, in three dimensions.

Rays run from every point of `from_m (n, 3)` to every point of `to_m (m, 3)`, metres. A ray through the end of a
wall counts for one of two walls that meet there, never for both nor for none, and the answer is the same in both
directions: each pair is looked at from its left-hand end, and a point on a line counts as on its left side.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Booleans = NDArray[np.bool_]
RAYS_AT_ONCE = 10_000  # about what the processor's cache holds


@dataclass(frozen=True)
class Barriers:
    """Upright rectangles: `ends_m (w, 2, 2)` in plan, from `low_m (w,)` up to below `high_m (w,)`."""

    ends_m: Floats
    low_m: Floats
    high_m: Floats

    def __len__(self) -> int:
        return len(self.low_m)


@dataclass(frozen=True)
class Slabs:
    """Horizontal rectangles: `corners_m (s, 2, 2)`, lower-left and upper-right, at `elevation_m (s,)`."""

    corners_m: Floats
    elevation_m: Floats

    def __len__(self) -> int:
        return len(self.elevation_m)


def crossed_barriers(from_m: Floats, to_m: Floats, barriers: Barriers) -> Iterator[Booleans]:
    """For each barrier in turn, which rays cross it: booleans (n, m). One barrier at a time bounds the memory."""
    return barriers_on_rays(from_m[:, None, :], to_m[None, :, :], barriers)


def barriers_on_rays(p: Floats, q: Floats, barriers: Barriers) -> Iterator[Booleans]:
    """The same for the rays from `p` to `q`, two arrays (..., 3) that go together: booleans (...).

    Where the rays are few, several barriers are looked at in one go: the numbers are the same, the time is not.
    """
    shape = np.broadcast_shapes(p.shape, q.shape)[:-1]
    at_once = max(1, RAYS_AT_ONCE // max(1, math.prod(shape)))
    for start in range(0, len(barriers), at_once):
        some, aside = slice(start, start + at_once), (-1, *(1 for _ in shape))
        low_m, high_m = barriers.low_m[some].reshape(aside), barriers.high_m[some].reshape(aside)
        in_plan, share = crossed_in_plan(p, q, barriers.ends_m[some].reshape(*aside, 2, 2))
        height_m = p[..., 2] + share * (q[..., 2] - p[..., 2])
        yield from in_plan & (height_m >= low_m) & (height_m < high_m)


def crossed_in_plan(p: Floats, q: Floats, ends_m: Floats) -> tuple[Booleans, Floats]:
    """Which rays from `p` to `q` (..., 2 or 3) cross a wall with `ends_m (..., 2, 2)` seen from above, and where.

    The second array is the share of the ray, 0 to 1, at which it meets the wall's line.
    """
    a, b = ends_m[..., 0, :], ends_m[..., 1, :]
    ray_x, ray_y = q[..., 0] - p[..., 0], q[..., 1] - p[..., 1]
    leftwards = (ray_x < 0) | ((ray_x == 0) & (ray_y < 0))
    from_side = _side(a, b, p)
    to_side = _side(a, b, q)
    apart = (from_side < 0) != (to_side < 0)
    a_side = ray_x * (a[..., 1] - p[..., 1]) - ray_y * (a[..., 0] - p[..., 0])
    b_side = ray_x * (b[..., 1] - p[..., 1]) - ray_y * (b[..., 0] - p[..., 0])
    between = np.where(leftwards, (a_side > 0) != (b_side > 0), (a_side < 0) != (b_side < 0))
    return apart & between, _share_of_ray(from_side, to_side)


def crossed_slabs(from_m: Floats, to_m: Floats, slabs: Slabs) -> Iterator[Booleans]:
    """For each slab in turn, which rays cross it: booleans (n, m). A point at a slab's elevation is above it."""
    return slabs_on_rays(from_m[:, None, :], to_m[None, :, :], slabs)


def slabs_on_rays(p: Floats, q: Floats, slabs: Slabs) -> Iterator[Booleans]:
    """The same for the rays from `p` to `q`, two arrays (..., 3) that go together: booleans (...)."""
    for (low, high), elevation_m in zip(slabs.corners_m, slabs.elevation_m, strict=True):
        below, above = p[..., 2] - elevation_m, q[..., 2] - elevation_m
        apart = (below < 0) != (above < 0)
        share = _share_of_ray(below, above)
        inside = apart
        for axis in (0, 1):
            at_m = p[..., axis] + share * (q[..., axis] - p[..., axis])
            inside = inside & (at_m >= low[axis]) & (at_m <= high[axis])
        yield inside


def _side(a: Floats, b: Floats, point: Floats) -> Floats:
    """Positive left of the line a-b, negative right of it, twice the area of the triangle."""
    along_x, along_y = b[..., 0] - a[..., 0], b[..., 1] - a[..., 1]
    side: Floats = along_x * (point[..., 1] - a[..., 1]) - along_y * (point[..., 0] - a[..., 0])
    return side


def _share_of_ray(start: Floats, end: Floats) -> Floats:
    """Where along the ray a quantity that runs evenly from `start` to `end` is zero; 0 where it never changes."""
    change = start - end
    return np.divide(start, change, out=np.zeros(np.broadcast(start, end).shape), where=change != 0)
