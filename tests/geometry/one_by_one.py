"""Every ray against every wall in plain numpy: the yardstick for the machine code that leaves most of them out.

A ray through the end of a wall counts for one of two walls that meet there, never for both nor for none, and the
answer is the same in both directions: each pair is looked at from its left-hand end, and a point on a line counts as
on its left side.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from showplan.geometry.crossings import Barriers

Floats = NDArray[np.float64]
Booleans = NDArray[np.bool_]


def crossed_barriers(from_m: Floats, to_m: Floats, barriers: Barriers) -> Iterator[Booleans]:
    """For each barrier in turn, which rays from (n, 3) to (m, 3) cross it: booleans (n, m)."""
    p, q = from_m[:, None, :], to_m[None, :, :]
    for ends_m, low_m, high_m in zip(barriers.ends_m, barriers.low_m, barriers.high_m, strict=True):
        in_plan, share = crossed_in_plan(p, q, ends_m)
        height_m = p[..., 2] + share * (q[..., 2] - p[..., 2])
        yield in_plan & (height_m >= low_m) & (height_m < high_m)


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


def _side(a: Floats, b: Floats, point: Floats) -> Floats:
    """Positive left of the line a-b, negative right of it, twice the area of the triangle."""
    along_x, along_y = b[..., 0] - a[..., 0], b[..., 1] - a[..., 1]
    side: Floats = along_x * (point[..., 1] - a[..., 1]) - along_y * (point[..., 0] - a[..., 0])
    return side


def _share_of_ray(start: Floats, end: Floats) -> Floats:
    """Where along the ray a quantity that runs evenly from `start` to `end` is zero; 0 where it never changes."""
    change = start - end
    return np.divide(start, change, out=np.zeros(np.broadcast(start, end).shape), where=change != 0)
