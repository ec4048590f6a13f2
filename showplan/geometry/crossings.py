"""Which straight rays cross which walls and floors, in three dimensions.

Rays run from points to points (..., 3), metres. What counts as crossing a wall is said in `rays_through.share_of_ray`;
a wall counts from its base up to below its top.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Booleans = NDArray[np.bool_]


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


def sum_crossed(from_m: Floats, to_m: Floats, barriers: Barriers, weights: Floats) -> Floats:
    """Sums (n, m, k) of the `weights (w, k)` of the barriers that rays from (n, 3) to (m, 3) cross, in their order."""
    # Machine code is loaded here, not by what imports this module.
    from showplan.geometry.rays_through import SECTORS, add_crossed

    sums = np.zeros((len(from_m), len(to_m), weights.shape[1]))
    add_crossed(
        _plain(from_m),
        _plain(to_m),
        *(_plain(barriers.ends_m), _plain(barriers.low_m), _plain(barriers.high_m), _plain(weights)),
        *(np.zeros(len(to_m), np.int64), np.zeros(len(to_m), np.int64), np.zeros(SECTORS + 1, np.int64)),
        sums,
    )
    return sums


def sum_crossed_by_pairs(from_m: Floats, to_m: Floats, barriers: Barriers, weights: Floats) -> Floats:
    """Sums (n, k) in the same way for the ray from each row of `from_m` (n, 3) to the same row of `to_m` (n, 3)."""
    sums = np.zeros((len(from_m), weights.shape[1]))
    starts_m, which = np.unique(from_m, axis=0, return_inverse=True)
    for index, start_m in enumerate(starts_m):
        [rows] = np.nonzero(which.ravel() == index)
        sums[rows] = sum_crossed(start_m[None], to_m[rows], barriers, weights)[0]
    return sums


def share_at_wall(from_m: Floats, to_m: Floats, ends_m: Floats) -> Floats:
    """Share of each ray (..., 3) at which it crosses a wall with `ends_m (2, 2)` seen from above; NaN where not."""
    from showplan.geometry.rays_through import find_shares

    p, q = np.broadcast_arrays(from_m, to_m)
    shares = np.empty(p.shape[:-1])
    find_shares(_plain(p).reshape(-1, 3), _plain(q).reshape(-1, 3), _plain(ends_m), shares.reshape(-1))
    return shares


def _plain(numbers: Floats) -> Floats:
    """A copy as the machine code takes it, however the array lies in memory."""
    return np.array(numbers, dtype=np.float64, order="C")


def crossed_slabs(from_m: Floats, to_m: Floats, slabs: Slabs) -> Iterator[Booleans]:
    """For each slab in turn, which rays cross it: booleans (n, m). A point at a slab's elevation is above it."""
    return slabs_on_rays(from_m[:, None, :], to_m[None, :, :], slabs)


def slabs_on_rays(p: Floats, q: Floats, slabs: Slabs) -> Iterator[Booleans]:
    """The same for the rays from `p` to `q`, two arrays (..., 3) that go together: booleans (...)."""
    for (low, high), elevation_m in zip(slabs.corners_m, slabs.elevation_m, strict=True):
        below, above = p[..., 2] - elevation_m, q[..., 2] - elevation_m
        apart = (below < 0) != (above < 0)
        change = below - above
        share = np.divide(below, change, out=np.zeros(change.shape), where=change != 0)
        inside = apart
        for axis in (0, 1):
            at_m = p[..., axis] + share * (q[..., axis] - p[..., axis])
            inside = inside & (at_m >= low[axis]) & (at_m <= high[axis])
        yield inside
