"""Loss through walls, and floors crossed, on a regular grid of cells as one transmitter sees it.

On one row of cells the shadow of a wall is one run of columns, bounded by three straight lines: the wall's own line
and the two rays through its ends. So a wall adds its loss at the first column of the run and takes it off after the
last, and one running sum along the row gives every cell: the work grows with walls x rows, not walls x cells.

The answer is that of comparing every cell with every wall (`rays_through.share_of_ray`). Along a row each comparison
changes its outcome once at most, in floating point too: subtracting, multiplying and dividing by a fixed number keep
the order of the columns, and rounding does not swap them. Where a line meets the row comes from the closed form;
wherever that falls so near a cell's centre that rounding could decide, the comparison itself is made on both sides and
the column corrected. The work itself is compiled: `shadow_lines`, `shadow_rows`.

Losses are summed as whole thousandths of a dB, the last digit of the material table, so that sums are exact.
"""

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from showplan.geometry.crossings import Barriers, Slabs

Floats = NDArray[np.float64]
Booleans = NDArray[np.bool_]

STEPS_PER_DB: Final = 1000  # losses are summed in thousandths of a dB
# Columns. Nearer than this to a cell's centre the closed form is checked; its own error is below 1e-7 columns
# (some 10 roundings of 2.2e-16) as long as the cells are above a millionth of the coordinates.
_DOUBT: Final = 1e-6


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
    # Machine code is loaded here, not by what imports this module.
    from showplan.geometry.shadow_lines import LINE, WALL
    from showplan.geometry.shadow_rows import ROWS_AT_ONCE, sum_rows

    x, y, ends = (np.array(one, dtype=np.float64) for one in (x_m, y_m, barriers.ends_m))
    low, high = (np.array(one, dtype=np.float64) for one in (barriers.low_m, barriers.high_m))
    total_db = np.empty((len(y), len(x)), dtype=np.float32)
    sum_rows(
        _facts(np.asarray(transmitter_m, dtype=np.float64), x, y, float(cell_height_m), ends),
        *(x, y, ends, low, high, steps.astype(np.int64)),
        np.zeros(len(steps), WALL),
        np.zeros((len(steps), 4), LINE),
        np.zeros((4, ROWS_AT_ONCE)),
        np.zeros((ROWS_AT_ONCE, len(x) + 1), np.int32),
        total_db,
    )
    return total_db


def _facts(from_m: Floats, x: Floats, y: Floats, height_m: float, ends: Floats) -> NDArray[np.void]:
    """The grid as `shadow_lines.GRID` wants it."""
    from showplan.geometry.shadow_lines import GRID

    gaps_m = np.diff(x)
    if not (gaps_m > 0).all():
        raise ValueError("x_m must rise from column to column")
    step_m = float(gaps_m[0]) if len(x) > 2 else 1.0
    places = (x - x[:1]) / step_m
    is_even = len(x) > 2 and bool((np.abs(places - np.arange(len(x)))[:-1] < _DOUBT / 10).all())
    is_even = is_even and bool(places[-1] < len(x) - 1 + _DOUBT / 10)
    facts = np.zeros(1, GRID)
    facts["x"], facts["y"], facts["z"] = from_m
    facts["climb"] = height_m - from_m[2]
    facts["first_x"], facts["step"] = x[0] if len(x) else 0.0, step_m
    facts["doubt"] = _DOUBT if is_even else np.inf
    # A last cell that is narrower has its centre moved in.
    facts["even_to"] = places[-1] - _DOUBT if is_even and places[-1] < len(x) - 1 else np.inf
    far = [np.abs(one - at).max(initial=0.0) for one, at in ((ends, from_m[:2]), (x, from_m[0]), (y, from_m[1]))]
    facts["extent"] = max(far)
    return facts


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
