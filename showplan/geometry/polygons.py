"""What makes a list of corners a zone."""

import math
from typing import Any

from shapely import Polygon
from shapely.validation import explain_validity

FEWEST_CORNERS = 3


def polygon_faults(corners_m: Any) -> list[str]:
    """Why `corners_m` is not a simple polygon of [x, y] pairs in metres; empty when it is one."""
    if not isinstance(corners_m, list) or len(corners_m) < FEWEST_CORNERS:
        return [f"a zone needs a list of at least {FEWEST_CORNERS} corners, each [x, y] in metres"]
    faults = [
        f"corner {number} must be two finite numbers [x, y] in metres, not {corner!r}"
        for number, corner in enumerate(corners_m, start=1)
        if not _is_point(corner)
    ]
    if faults:
        return faults
    polygon = Polygon(corners_m)
    if not polygon.is_valid:
        return [f"the outline crosses or touches itself ({explain_validity(polygon)}): list the corners in order"]
    return [] if polygon.area > 0 else ["the zone has no area: its corners lie on one line"]


def _is_point(corner: Any) -> bool:
    return (
        isinstance(corner, list | tuple)
        and len(corner) == 2
        and all(isinstance(value, int | float) and not isinstance(value, bool) for value in corner)
        and all(math.isfinite(value) for value in corner)
    )
