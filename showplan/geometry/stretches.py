"""Points along a stretch, such as a tape."""

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any


def feed_point_faults(feeding: str, points_m: Any, length_m: float | None) -> list[str]:
    """Why a tape of `length_m`, fed in the way `feeding`, cannot be fed at `points_m` from its start; else empty."""
    faults = point_faults(points_m, length_m)
    if faults:
        return faults
    if feeding == "points" and not points_m:
        return ["a tape fed at points needs at least one"]
    if feeding != "points" and points_m:
        return [f"only a tape fed at points has them: leave this empty, or choose feeding 'points', not {feeding!r}"]
    return []


def point_faults(points_m: Any, length_m: float | None) -> list[str]:
    """Why `points_m` are not ascending metres from 0 to `length_m` (None: unknown); empty when they are."""
    if not isinstance(points_m, Sequence) or isinstance(points_m, str):
        return ["must be a list of metres from the start of the tape"]
    if not all(_is_number(point) for point in points_m):
        return ["each point must be a finite number of metres"]
    if any(second <= first for first, second in pairwise(points_m)):
        return ["must ascend from the start of the tape, each point once"]
    if points_m and (points_m[0] < 0 or (length_m is not None and points_m[-1] > length_m)):
        end = "the end of the tape" if length_m is None else f"{length_m:g} m, the length of the tape"
        return [f"must lie from 0 to {end}"]
    return []


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
