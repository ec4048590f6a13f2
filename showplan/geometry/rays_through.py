"""Which walls the rays from one point to many cross: points sorted by direction, the comparison for few. Compiled.

Seen from a point, a wall hides one run of directions. Points are sorted into sectors by theirs, and only those in the
sectors of a wall's run, one more on each side, are looked at. The comparison decides alone, so that rounding in the
directions changes nothing; where the point is so near to a wall's line that rounding might, all points are looked at.
"""

from typing import Any, Final

import numba
import numpy as np

from showplan.geometry.compiled import compiled, compiled_for

SECTORS: Final = 256
# Share of the largest area that a wall and a point as far off as this one could span; rounding is below 1e-14 of it.
_CLEAR: Final = 1e-9


@compiled
def share_of_ray(px: float, py: float, qx: float, qy: float, ends: Any) -> float:
    """Where the ray p-q crosses the wall `ends (2, 2)` in plan, as a share of the ray, 0 to 1; NaN where it does not.

    A ray through the end of a wall counts for one of two walls that meet there, and the answer is the same in both
    directions: each pair is looked at from its left-hand end, and a point on a line counts as on its left side.
    """
    ax, ay, bx, by = ends[0, 0], ends[0, 1], ends[1, 0], ends[1, 1]
    from_side = (bx - ax) * (py - ay) - (by - ay) * (px - ax)
    to_side = (bx - ax) * (qy - ay) - (by - ay) * (qx - ax)
    if (from_side < 0) == (to_side < 0):
        return np.nan
    ray_x, ray_y = qx - px, qy - py
    a_side = ray_x * (ay - py) - ray_y * (ax - px)
    b_side = ray_x * (by - py) - ray_y * (bx - px)
    if ray_x < 0 or (ray_x == 0 and ray_y < 0):
        between = (a_side > 0) != (b_side > 0)
    else:
        between = (a_side < 0) != (b_side < 0)
    # The two sides differ in sign, so their difference is not zero.
    return from_side / (from_side - to_side) if between else np.nan


@compiled
def _sector(x: float, y: float) -> int:
    """The sector of a direction, rising anticlockwise; opposite directions are half of all sectors apart."""
    size = abs(x) + abs(y)
    turn = y / size if 0 < size < np.inf else 0.0
    if x < 0:
        turn = 2 - turn
    elif turn < 0:
        turn += 4
    return min(int(turn * (SECTORS / 4)), SECTORS - 1)


@compiled
def _sort(px: float, py: float, to_m: Any, sectors: Any, order: Any, starts: Any) -> None:
    """Put the points in `order` of their sectors; those of sector s begin at `starts[s]`."""
    for s in range(SECTORS + 1):
        starts[s] = 0
    for j in range(len(to_m)):
        sectors[j] = _sector(to_m[j, 0] - px, to_m[j, 1] - py)
        starts[sectors[j]] += 1
    total = 0
    for s in range(SECTORS + 1):
        total += starts[s]
        starts[s] = total
    for j in range(len(to_m) - 1, -1, -1):
        starts[sectors[j]] -= 1
        order[starts[sectors[j]]] = j


@compiled
def _hidden(px: float, py: float, ends: Any) -> tuple[int, int]:
    """The first sector that a wall may hide, 0 up to all of them, and how many there are from it on."""
    ax, ay, bx, by = ends[0, 0] - px, ends[0, 1] - py, ends[1, 0] - px, ends[1, 1] - py
    along_x, along_y = bx - ax, by - ay
    length = abs(along_x) + abs(along_y)
    if not abs(along_x * ay - along_y * ax) > _CLEAR * length * (length + abs(ax) + abs(ay)):
        return 0, SECTORS
    one, other = _sector(ax, ay), _sector(bx, by)
    turn = (other - one) % SECTORS
    if abs(turn - SECTORS // 2) <= 2:  # half of all directions: either half
        return 0, SECTORS
    if turn > SECTORS // 2:
        one, turn = other, SECTORS - turn
    return (one - 1) % SECTORS, turn + 3


_COLUMN, _TABLE, _WALLS, _WHOLE = numba.f8[::1], numba.f8[:, ::1], numba.f8[:, :, ::1], numba.i8[::1]


@compiled_for(_TABLE, _TABLE, _WALLS, _COLUMN, _COLUMN, _TABLE, _WHOLE, _WHOLE, _WHOLE, _WALLS)
def add_crossed(
    from_m: Any,
    to_m: Any,
    ends: Any,
    low: Any,
    high: Any,
    weights: Any,
    sectors: Any,
    order: Any,
    starts: Any,
    sums: Any,
) -> None:
    """Add to `sums[i, j]` the `weights[w]` of each wall that the ray from `from_m[i]` to `to_m[j]` crosses, in order.

    `sectors`, `order (points,)` and `starts (SECTORS + 1,)` are room.
    """
    for i in range(len(from_m)):
        px, py, pz = from_m[i, 0], from_m[i, 1], from_m[i, 2]
        _sort(px, py, to_m, sectors, order, starts)
        for w in range(len(low)):
            first, count = _hidden(px, py, ends[w])
            before = min(first + count, SECTORS)
            for part in range(2):  # the second is what goes on from sector 0
                begin, end = (starts[first], starts[before]) if part == 0 else (0, starts[first + count - before])
                for k in range(begin, end):
                    j = order[k]
                    share = share_of_ray(px, py, to_m[j, 0], to_m[j, 1], ends[w])
                    z = pz + share * (to_m[j, 2] - pz)
                    if z >= low[w] and z < high[w]:
                        for column in range(weights.shape[1]):
                            sums[i, j, column] += weights[w, column]


@compiled_for(_TABLE, _TABLE, _TABLE, _COLUMN)
def find_shares(from_m: Any, to_m: Any, ends: Any, shares: Any) -> None:
    """`shares[i]`: where the ray from `from_m[i]` to `to_m[i]` crosses one wall in plan; NaN where it does not."""
    for i in range(len(shares)):
        shares[i] = share_of_ray(from_m[i, 0], from_m[i, 1], to_m[i, 0], to_m[i, 1], ends)
