"""Walls' losses on rows of cells: where each shadow begins and ends, and a running sum along the row. Compiled."""

from typing import Any, Final

import numba
import numpy as np

from showplan.geometry.compiled import compiled, compiled_for
from showplan.geometry.shadow_lines import END_A, END_B, FAR, GRID, LINE, NEAR, WALL, find_columns, lay_lines

ROWS_AT_ONCE: Final = 32  # so that their changes stay in the processor's cache
DB_PER_STEP: Final = 0.001

_GRIDS, _LINES, _WALLS = (numba.from_dtype(of) for of in (GRID, LINE, WALL))
_COLUMN, _TABLE, _ENDS = numba.f8[::1], numba.f8[:, ::1], numba.f8[:, :, ::1]


@compiled
def _write(changes: Any, total_db: Any) -> None:
    """The running sums in dB; `changes` is zero afterwards."""
    rows, columns = total_db.shape
    for row in range(rows):
        total = 0
        for column in range(columns):
            total += changes[row, column]
            changes[row, column] = total
        for column in range(columns):
            total_db[row, column] = changes[row, column] * DB_PER_STEP
        changes[row, :] = 0


@compiled
def _note(wall: Any, edges: Any, rows: int, changes: Any) -> None:
    """Add the wall's loss where its shadow begins on each row, take it off where it ends."""
    for row in range(rows):
        begin, end = min(edges[NEAR, row], edges[FAR, row]), max(edges[NEAR, row], edges[FAR, row])
        one, other = min(edges[END_A, row], edges[END_B, row]), max(edges[END_A, row], edges[END_B, row])
        # Both ends on one side of the transmitter's row: the shadow is between the rays through them; the other
        # walls reach across that row, and theirs is what is outside.
        if wall.together:
            begin, end = max(begin, one), min(end, other)
        else:
            if begin < min(end, one):
                changes[row, int(begin)] += wall.steps
                changes[row, int(min(end, one))] -= wall.steps
            begin = max(begin, other)
        if begin < end:
            changes[row, int(begin)] += wall.steps
            changes[row, int(end)] -= wall.steps


@compiled_for(
    *(_GRIDS[::1], _COLUMN, _COLUMN, _ENDS, _COLUMN, _COLUMN, numba.i8[::1]),
    *(_WALLS[::1], _LINES[:, ::1], _TABLE, numba.i4[:, ::1], numba.f4[:, ::1]),
)
def sum_rows(
    grids: Any,
    x: Any,
    y: Any,
    ends: Any,
    low: Any,
    high: Any,
    steps: Any,
    walls: Any,
    lines: Any,
    edges: Any,
    changes: Any,
    total_db: Any,
) -> None:
    """Write `total_db (rows, columns)`; `low`, `high`, `steps`: those of walls with `ends (w, 2, 2)`.

    Room: `walls (w,)`, `lines (w, 4)`, `edges (4, ROWS_AT_ONCE)`, `changes (ROWS_AT_ONCE, columns + 1)`, all zero.
    """
    grid = grids[0]
    count = lay_lines(grid, len(x), ends, low, high, steps, walls, lines)
    for start in range(0, len(y), ROWS_AT_ONCE):
        some = y[start : start + ROWS_AT_ONCE]
        lowest, highest = np.inf, -np.inf
        for row_y in some:
            lowest, highest = min(lowest, row_y), max(highest, row_y)
        for w in range(count):
            wall = walls[w]
            if highest < wall.low_y or lowest > wall.high_y:
                continue
            for which in range(4):
                find_columns(grid, lines[w, which], wall.side, x, some, edges[which])
            _note(wall, edges, len(some), changes)
        _write(changes, total_db[start : start + len(some)])
