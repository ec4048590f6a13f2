"""The lines that bound a wall's shadow on rows of cells, and the comparisons that decide on either side. Compiled.

Four lines to each wall: the near and far edge of what is dark behind it (the wall's own line, and where rays pass its
top or base), and the rays through its two ends.
"""

from typing import Any, Final

import numpy as np

from showplan.geometry.compiled import compiled

NEAR, FAR, END_A, END_B = range(4)
OWN, LIMIT, NOWHERE, END = range(4)  # kinds of lines

# The cells and the transmitter. After `even_to`, in steps from the first column, cells do not keep the step.
GRID: Final = np.dtype(
    [(name, "f8") for name in ("x", "y", "z", "climb", "first_x", "step", "even_to", "doubt", "extent")], align=True
)
# A line through (x, y) that runs by (along_x, along_y). It meets row y at column
# ((y - line.y) * along_x - offset) * per_step + place; nearer than `doubt` to a cell the comparison decides.
LINE: Final = np.dtype(
    [(name, "f8") for name in ("x", "y", "along_x", "along_y", "offset", "per_step", "place", "doubt", "limit")]
    + [("kind", "i8"), ("rises", "i8")],
    align=True,
)
# Double the area that wall and transmitter span; rows outside `low_y` to `high_y` have no shadow; thousandths of a dB.
WALL: Final = np.dtype([("side", "f8"), ("low_y", "f8"), ("high_y", "f8"), ("steps", "i8"), ("together", "i8")])

_ROUNDINGS: Final = 16 * float(np.finfo(np.float64).eps)  # relative error of a dozen operations, rounded up
# Shares of the largest distance, and of its square: what is as far as that from a line is so after rounding too.
_CLEAR: Final = 1e-6


@compiled
def lay_lines(grid: Any, columns: int, ends: Any, low: Any, high: Any, steps: Any, walls: Any, lines: Any) -> int:
    """Fill `walls` and `lines` for the walls that a ray may meet; how many these are."""
    end_z = grid.z + grid.climb
    lowest, highest = min(grid.z, end_z), max(grid.z, end_z)
    count = 0
    for w in range(len(steps)):
        if steps[w] == 0 or low[w] > highest or high[w] <= lowest:
            continue
        wall, (ax, ay), (bx, by) = walls[count], (ends[w, 0, 0], ends[w, 0, 1]), (ends[w, 1, 0], ends[w, 1, 1])
        wall.steps, wall.side = steps[w], (bx - ax) * (grid.y - ay) - (by - ay) * (grid.x - ax)
        wall.together = (ay - grid.y >= 0) == (by - grid.y >= 0)
        wall.low_y, wall.high_y = -np.inf, np.inf
        if wall.together and abs(wall.side) > _CLEAR * grid.extent**2:
            if ay >= grid.y:
                wall.low_y = min(ay, by) - _CLEAR * grid.extent
            else:
                wall.high_y = max(ay, by) + _CLEAR * grid.extent
        own = lines[count, NEAR]
        _lay(grid, own, OWN, ax, ay, bx - ax, by - ay)
        _lay(grid, lines[count, END_A], END, grid.x, grid.y, ax - grid.x, ay - grid.y)
        _lay(grid, lines[count, END_B], END, grid.x, grid.y, bx - grid.x, by - grid.y)
        far = lines[count, FAR]
        _lay(grid, far, NOWHERE, ax, ay, bx - ax, by - ay)
        far.place = columns if own.rises == (wall.side >= 0) else 0
        # Next to the wall the ray is near the cells' height, far behind it near the transmitter's: a ray that
        # climbs to its cell clears the wall's top next to the wall and passes under its base far behind.
        near_top = grid.climb > 0
        if high[w] <= highest:
            _limit(grid, own if near_top else far, wall.side, high[w])
        if low[w] > lowest:
            _limit(grid, far if near_top else own, wall.side, low[w])
        count += 1
    return count


@compiled
def _lay(grid: Any, line: Any, kind: int, x: float, y: float, along_x: float, along_y: float) -> None:
    line.kind, line.x, line.y, line.along_x, line.along_y = kind, x, y, along_x, along_y
    line.rises = along_y >= 0  # whether cells right of the line, as one looks along it, have the higher columns
    line.per_step = np.inf if along_y == 0 else 1 / (along_y * grid.step)
    line.place, line.offset, line.limit, line.doubt = (x - grid.first_x) / grid.step, 0.0, 0.0, grid.doubt


@compiled
def _limit(grid: Any, line: Any, side: float, limit: float) -> None:
    """Let the edge be where the ray meets the wall's line at a height: on a parallel to the wall."""
    _lay(grid, line, LIMIT, line.x, line.y, line.along_x, line.along_y)
    line.limit = limit
    share = (limit - grid.z) / grid.climb
    if share == 0 or line.along_y == 0:
        line.doubt = np.inf
        return
    line.offset = -side * (1 - share) / share
    # The height is rounded too, and the flatter the ray the farther that moves the edge.
    rounding = _ROUNDINGS * (abs(grid.z) + abs(grid.climb)) / abs(grid.climb)
    line.doubt += rounding * abs(side) / share**2 / abs(line.along_y * grid.step)


@compiled
def find_columns(grid: Any, line: Any, side: float, x: Any, y: Any, found: Any) -> None:
    """For each row the first column at which the line's comparison has changed its outcome, 0 to `len(x)`."""
    if line.kind == NOWHERE:
        for row in range(len(y)):
            found[row] = line.place
        return
    # Copied, so that the compiler need not fear that writing to `found` changes them.
    from_y, along_x, offset, per_step, place = line.y, line.along_x, line.offset, line.per_step, line.place
    doubt, most, even_to, last = line.doubt, 1 - line.doubt, grid.even_to, len(x) - 1.0
    sure = 0
    for row in range(len(y)):
        at = ((y[row] - from_y) * along_x - offset) * per_step + place
        at = -0.5 if at < -0.5 else at
        at = last + 0.5 if at > last + 0.5 else at
        up = np.ceil(at)
        found[row] = up
        sure += (up - at > doubt) & (up - at < most) & ((at < even_to) | (at > last))
    if sure == len(y):
        return
    for row in range(len(y)):
        at = ((y[row] - from_y) * along_x - offset) * per_step + place
        at = -0.5 if at < -0.5 else at
        at = last + 0.5 if at > last + 0.5 else at
        up = np.ceil(at)
        if not ((up - at > doubt) & (up - at < most) & ((at < even_to) | (at > last))):
            found[row] = _settled(grid, line, side, x, y[row], int(up) if up == up else 0)


@compiled
def _settled(grid: Any, line: Any, side: float, x: Any, y: float, guess: int) -> int:
    """The column by the comparison itself, which turns true along the row where the line rises, else false."""
    low, high = 0, len(x)
    if guess < high and not _has_changed(grid, line, side, x[guess], y):
        low = guess + 1
    elif guess > 0 and not _has_changed(grid, line, side, x[guess - 1], y):
        return guess
    else:
        high = max(guess - 1, 0)
    while low < high:
        middle = (low + high) // 2
        if _has_changed(grid, line, side, x[middle], y):
            high = middle
        else:
            low = middle + 1
    return low


@compiled
def _has_changed(grid: Any, line: Any, side: float, x: float, y: float) -> bool:
    right = (x - line.x) * line.along_y - (y - line.y) * line.along_x
    if line.kind == END:
        rightwards = x > grid.x or (x == grid.x and y >= grid.y)
        holds = right > 0 or (right == 0 and rightwards)
    elif line.kind == OWN:
        holds = right > 0
    else:
        change = side + right
        share = side / change if change != 0 else 0.0
        over = grid.z + share * grid.climb >= line.limit
        darkened = (side < 0) != (-right < 0) and over != (grid.climb > 0)
        holds = darkened == (side >= 0)
    has_changed: bool = holds == (line.rises != 0)
    return has_changed
