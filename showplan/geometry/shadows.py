"""Loss through walls, and floors crossed, on a regular grid of cells as one transmitter sees it.

On one row of cells the shadow of a wall is one run of columns, bounded by three straight lines: the wall's own line
and the two rays through its ends. So a wall adds its loss at the first column of the run and takes it off after the
last, and one running sum along the row gives every cell: the work grows with walls x rows, not walls x cells.

The answer is that of `crossings.crossed_barriers`, cell for cell. Along a row each of its comparisons changes its
outcome once at most, in floating point too: subtracting, multiplying and dividing by a fixed number keep the order
of the columns, and rounding does not swap them. Where a line meets the row comes from the closed form; wherever that
falls so near a cell's centre that rounding could decide, the comparison itself is made on both sides and the column
corrected.

Losses are summed as whole thousandths of a dB, the last digit of the material table, so that sums are exact.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from showplan.geometry.crossings import Barriers, Slabs

Floats = NDArray[np.float64]
Whole = NDArray[np.intp]
Booleans = NDArray[np.bool_]
# Whether a comparison holds for given walls, rows and columns: three index arrays (k,) to booleans (k,).
Comparison = Callable[[Whole, Whole, Whole], Booleans]

STEPS_PER_DB: Final = 1000  # losses are summed in thousandths of a dB
# Columns. Nearer than this to a cell's centre the closed form is checked; its own error is below 1e-7 columns
# (some 10 roundings of 2.2e-16) as long as the cells are above a millionth of the coordinates.
_DOUBT: Final = 1e-6
_ROUNDINGS: Final = 16 * float(np.finfo(np.float64).eps)  # relative error of a dozen operations, rounded up
_PAIRS_AT_ONCE: Final = 1 << 16  # walls x rows worked on at once: small enough for a processor's cache


def wall_loss_on_grid_db(
    transmitter_m: Floats, x_m: Floats, y_m: Floats, cell_height_m: float, barriers: Barriers, loss_db: Floats
) -> NDArray[np.float32]:
    """Loss (rows, columns) in dB through the walls between a transmitter (3,) and cells at `x_m`, `y_m`, in metres.

    `x_m (columns,)` must rise; even steps (the last may be shorter) are fast. `cell_height_m` is the height of all
    cells in the coordinates of `barriers`; `loss_db (w,)` is each wall's loss, rounded to a thousandth of a dB.
    Raises ValueError where `x_m` does not rise or the losses together exceed two million dB.
    """
    steps = np.rint(np.asarray(loss_db, dtype=np.float64) * STEPS_PER_DB)
    if not np.abs(steps).sum() < np.iinfo(np.int32).max:
        raise ValueError("wall losses together must stay below 2,000,000 dB, and each must be a number")
    grid = _Grid.of(np.asarray(transmitter_m, dtype=np.float64), x_m, y_m, float(cell_height_m))
    walls = _Walls.facing(grid, barriers, steps.astype(np.int32))
    total_db = np.zeros((len(y_m), len(x_m)), dtype=np.float32)
    rows_at_once = max(1, _PAIRS_AT_ONCE // max(1, len(walls.steps)))
    for start in range(0, len(y_m) if len(walls.steps) else 0, rows_at_once):
        some = slice(start, start + rows_at_once)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            changes = _changes_of_loss(grid, y_m[some], walls)
        steps_here = np.cumsum(changes[:, :-1], axis=1, dtype=np.int32)
        np.multiply(steps_here, 1 / STEPS_PER_DB, out=total_db[some], casting="same_kind")
    return total_db


def slabs_crossed_on_grid(
    transmitter_m: Floats, x_m: Floats, y_m: Floats, cell_height_m: float, slabs: Slabs
) -> Iterator[Booleans]:
    """For each slab in turn, to which cells (rows, columns) the ray crosses it; as `crossings.crossed_slabs`.

    All rays reach a slab at the same share of their length, so rows and columns are judged apart.
    """
    for (low, high), elevation_m in zip(slabs.corners_m, slabs.elevation_m, strict=True):
        below, above = transmitter_m[2] - elevation_m, cell_height_m - elevation_m
        if (below < 0) == (above < 0):
            yield np.zeros((len(y_m), len(x_m)), dtype=bool)
            continue
        share = below / (below - above)
        across_m = transmitter_m[0] + share * (x_m - transmitter_m[0])
        along_m = transmitter_m[1] + share * (y_m - transmitter_m[1])
        columns = (across_m >= low[0]) & (across_m <= high[0])
        rows = (along_m >= low[1]) & (along_m <= high[1])
        yield rows[:, None] & columns[None, :]


@dataclass(frozen=True)
class _Grid:
    """The cells and the transmitter. `last` is where the last column lies, in steps from the first."""

    from_m: Floats
    x_m: Floats
    height_m: float
    step_m: float
    last: float
    doubt: float

    @classmethod
    def of(cls, from_m: Floats, x_m: Floats, y_m: Floats, height_m: float) -> "_Grid":
        gaps_m = np.diff(x_m)
        if not (gaps_m > 0).all():
            raise ValueError("x_m must rise from column to column")
        step_m = float(gaps_m[0]) if len(x_m) > 2 else 1.0
        places = (x_m - x_m[:1]) / step_m
        is_even = len(x_m) > 2 and bool((np.abs(places - np.arange(len(x_m)))[:-1] < _DOUBT / 10).all())
        last = float(places[-1]) if is_even and places[-1] < len(x_m) - 1 + _DOUBT / 10 else np.nan
        return cls(from_m, x_m, height_m, step_m, last, _DOUBT if last > 0 else np.inf)


@dataclass(frozen=True)
class _Lines:
    """One line per wall, through (x_m, y_m) and running by (along_x, along_y); each (w, 1)."""

    x_m: Floats
    y_m: Floats
    along_x: Floats
    along_y: Floats

    @classmethod
    def from_point(cls, x_m: float, y_m: float, ends_m: Floats) -> "_Lines":
        """From one point through each of `ends_m (w, 2)`."""
        ends_x, ends_y = ends_m[:, :1], ends_m[:, 1:]
        return cls(np.full_like(ends_x, x_m), np.full_like(ends_y, y_m), ends_x - x_m, ends_y - y_m)

    @property
    def is_rising(self) -> Booleans:
        """Whether cells right of the line, as one looks along it, are those of the higher columns."""
        return (self.along_y >= 0)[:, 0]

    def meet(self, grid: _Grid, y_m: Floats, offset: Floats | float = 0.0) -> Floats:
        """Where rows meet the line at which `rightness` is `-offset`: (w, rows) in steps from the first column."""
        per_step = 1 / (self.along_y * grid.step_m)
        places: Floats = ((y_m - self.y_m) * self.along_x - offset) * per_step
        places += (self.x_m - grid.x_m[0]) / grid.step_m
        return places

    def rightness(self, walls: Whole, x_m: Floats, y_m: Floats) -> Floats:
        """Positive right of the line of each of `walls`, negative left of it: points (k,)."""
        across, along = (x_m - self.x_m[walls, 0]) * self.along_y[walls, 0], y_m - self.y_m[walls, 0]
        right: Floats = across - along * self.along_x[walls, 0]
        return right


@dataclass(frozen=True)
class _Walls:
    """The walls that can cast a shadow; the first `together` have both ends on one side of the transmitter's row."""

    own: _Lines
    ends: tuple[_Lines, _Lines]
    side: Floats
    limits_m: tuple[Floats, Floats]
    is_limited: tuple[Booleans, Booleans]
    steps: NDArray[np.int32]
    together: int

    @classmethod
    def facing(cls, grid: _Grid, barriers: Barriers, steps: NDArray[np.int32]) -> "_Walls":
        """Leave out what no ray meets; the rest ordered for `_changes_of_loss`."""
        px, py, start_m = grid.from_m
        end_m = start_m + (grid.height_m - start_m)
        low_m, high_m = min(start_m, end_m), max(start_m, end_m)
        a, b = barriers.ends_m[:, 0], barriers.ends_m[:, 1]
        is_together = (a[:, 1] - py >= 0) == (b[:, 1] - py >= 0)
        meets = (barriers.low_m <= high_m) & (barriers.high_m > low_m) & (steps != 0)
        order = np.argsort(~is_together, kind="stable")
        order = order[meets[order]]
        a, b, base_m, top_m = a[order], b[order], barriers.low_m[order], barriers.high_m[order]
        own = _Lines(a[:, :1], a[:, 1:], (b - a)[:, :1], (b - a)[:, 1:])
        ends = (_Lines.from_point(px, py, a), _Lines.from_point(px, py, b))
        side = (b - a)[:, 0] * (py - a[:, 1]) - (b - a)[:, 1] * (px - a[:, 0])
        # Next to the wall the ray is near the cells' height, far behind it near the transmitter's: a ray that
        # climbs to its cell clears the wall's top next to the wall and passes under its base far behind.
        base, top = (base_m, base_m > low_m), (top_m, top_m <= high_m)
        near, far = (top, base) if grid.height_m > start_m else (base, top)
        return cls(
            own=own,
            ends=ends,
            side=side,
            limits_m=(near[0], far[0]),
            is_limited=(near[1], far[1]),
            steps=steps[order],
            together=int(is_together[order].sum()),
        )


def _changes_of_loss(grid: _Grid, y_m: Floats, walls: _Walls) -> NDArray[np.int32]:
    """What the loss changes by at each column, and once after the last: thousandths of a dB (rows, columns + 1)."""
    changes = np.zeros((len(y_m), len(grid.x_m) + 1), dtype=np.int32)
    near, far = (_edge_of_strip(grid, y_m, walls, which) for which in (0, 1))
    one, other = (_edge_at_end(grid, y_m, lines) for lines in walls.ends)
    strip_from, strip_to = np.minimum(near, far), np.maximum(near, far)
    ends_from, ends_to = np.minimum(one, other), np.maximum(one, other)
    # Both ends on one side of the transmitter's row: the shadow is between the rays through them; the other walls
    # reach across that row, and theirs is what is outside.
    joint, split = slice(None, walls.together), slice(walls.together, None)
    runs = (
        (joint, np.maximum(strip_from[joint], ends_from[joint]), np.minimum(strip_to[joint], ends_to[joint])),
        (split, strip_from[split], np.minimum(strip_to[split], ends_from[split])),
        (split, np.maximum(strip_from[split], ends_to[split]), strip_to[split]),
    )
    for which, run_from, run_to in runs:
        wall, row = np.nonzero(run_from < run_to)
        steps = walls.steps[which][wall]
        start = row * changes.shape[1]
        np.add.at(changes.reshape(-1), start + run_from[wall, row].astype(np.intp), steps)
        np.subtract.at(changes.reshape(-1), start + run_to[wall, row].astype(np.intp), steps)
    return changes


def _edge_at_end(grid: _Grid, y_m: Floats, lines: _Lines) -> Floats:
    """Column (w, rows) from which cells lie beyond the ray through one end of each wall."""

    def is_beyond(walls: Whole, rows: Whole, columns: Whole) -> Booleans:
        x, y = grid.x_m[columns], y_m[rows]
        rightwards = (x > grid.from_m[0]) | ((x == grid.from_m[0]) & (y >= grid.from_m[1]))
        right = lines.rightness(walls, x, y)
        beyond: Booleans = (right > 0) | ((right == 0) & rightwards)
        return beyond

    return _settled(grid, lines.meet(grid, y_m), grid.doubt, lines.is_rising, is_beyond)


def _edge_of_strip(grid: _Grid, y_m: Floats, walls: _Walls, which: int) -> Floats:
    """Column (w, rows) at the near (0) or far (1) edge of the strip behind each wall that its height darkens."""
    own, is_rising, is_limited = walls.own, walls.own.is_rising, walls.is_limited[which]
    if which == 0:

        def is_behind(wall: Whole, rows: Whole, columns: Whole) -> Booleans:
            return own.rightness(wall, grid.x_m[columns], y_m[rows]) > 0

        edge = _settled(grid, own.meet(grid, y_m), grid.doubt, is_rising, is_behind)
    else:
        never = np.where(is_rising == (walls.side >= 0), len(grid.x_m), 0.0)
        edge = np.repeat(never[:, None], len(y_m), axis=1)
    if not is_limited.any():
        return edge

    [chosen] = np.nonzero(is_limited)
    start_m, limit_m, side = grid.from_m[2], walls.limits_m[which], walls.side
    climb_m = grid.height_m - start_m
    climbs = climb_m > 0

    def is_past_limit(index: Whole, rows: Whole, columns: Whole) -> Booleans:
        wall = chosen[index]
        cell_side = -own.rightness(wall, grid.x_m[columns], y_m[rows])
        change = side[wall] - cell_side
        share = np.divide(side[wall], change, out=np.zeros(len(wall)), where=change != 0)
        over = start_m + share * climb_m >= limit_m[wall]
        darkened = ((side[wall] < 0) != (cell_side < 0)) & (over != climbs)
        past: Booleans = darkened == (side[wall] >= 0)
        return past

    # Share of the ray at which it reaches the limit; it meets the wall there in the cells on a parallel to the wall.
    share = (limit_m[chosen] - start_m) / climb_m
    offset = side[chosen] * (1 - share) / share
    lines = _Lines(own.x_m[chosen], own.y_m[chosen], own.along_x[chosen], own.along_y[chosen])
    guess = lines.meet(grid, y_m, -offset[:, None])
    # The height is rounded too, and the flatter the ray the farther that moves the edge.
    rounding = _ROUNDINGS * (abs(start_m) + abs(climb_m)) / abs(climb_m)
    doubt = grid.doubt + (rounding * np.abs(side[chosen]) / share**2)[:, None] / np.abs(lines.along_y * grid.step_m)
    edge[chosen] = _settled(grid, guess, doubt, is_rising[chosen], is_past_limit)
    return edge


def _settled(grid: _Grid, places: Floats, doubt: Floats | float, is_rising: Booleans, holds: Comparison) -> Floats:
    """First column (w, rows) at which a comparison has changed its outcome, from 0 to the number of columns.

    It turns true along the columns for walls that are `is_rising`, false for the others. `places` is where the closed
    form puts the change, in steps from the first column; nearer than `doubt` to a cell the comparison itself decides.
    """
    columns = len(grid.x_m)
    np.clip(places, -0.5, columns - 0.5, out=places)
    edge = np.ceil(places)
    doubtful = ~(np.abs(places - np.rint(places)) > doubt)
    if grid.last < columns - 1:  # the last cell is narrower, its centre moved in
        doubtful |= (places > grid.last - doubt) & (places < columns - 1)
    walls, rows = np.nonzero(doubtful)
    if not len(walls):
        return edge

    def has_changed(lanes: Whole, column: Whole) -> Booleans:
        some = walls[lanes]
        changed: Booleans = holds(some, rows[lanes], column) == is_rising[some]
        return changed

    guess = np.nan_to_num(edge[walls, rows]).astype(np.intp)
    everyone = np.arange(len(walls))
    after = has_changed(everyone, np.minimum(guess, columns - 1)) | (guess == columns)
    before = has_changed(everyone, np.maximum(guess - 1, 0)) & (guess > 0)
    low = np.where(after, np.where(before, 0, guess), guess + 1)
    high = np.where(after, np.where(before, guess - 1, guess), columns)
    while len(lanes := np.nonzero(low < high)[0]):
        middle = (low[lanes] + high[lanes]) // 2
        changed = has_changed(lanes, middle)
        high[lanes] = np.where(changed, middle, high[lanes])
        low[lanes] = np.where(changed, low[lanes], middle + 1)
    edge[walls, rows] = low
    return edge
