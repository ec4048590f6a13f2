"""How fast walls are counted on a coverage grid: run by hand, `python tests/scale/bench_coverage.py`.

Cell x transmitter x wall decisions per second, in one run: the shadows of `showplan.geometry.shadows`, every cell
against every wall in tiled 32-bit arrays, shapely on a smaller sample, and the time it takes to write the result
once. An 80 x 50 m hall with walls of 2 to 15 m. Prints a Markdown table; the ratios count, not the seconds.
"""

import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).parents[2]))

from showplan.geometry.crossings import Barriers
from showplan.geometry.shadows import wall_loss_on_grid_db

COLUMNS, ROWS, WALLS, TRANSMITTERS = 1265, 791, 200, 10  # one million cells
WIDTH_M, DEPTH_M, CELL_HEIGHT_M, WALL_TOP_M = 80.0, 50.0, 1.2, 4.0
LOW_M, HIGH_M = 1.5, 6.0  # transmitters below the walls' tops, and above them
TILE = 1 << 14  # cells: a tile's arrays stay in the processor's cache


def hall(random: np.random.Generator) -> tuple[Barriers, Any]:
    """Walls with their loss in dB."""
    start = random.uniform(0, 1, (WALLS, 2)) * [WIDTH_M, DEPTH_M]
    angle, length = random.uniform(0, 2 * np.pi, WALLS), random.uniform(2, 15, WALLS)
    ends = np.stack([start, start + np.column_stack([np.cos(angle), np.sin(angle)]) * length[:, None]], axis=1)
    return Barriers(ends, np.zeros(WALLS), np.full(WALLS, WALL_TOP_M)), random.integers(500, 9000, WALLS) / 1000


def every_cell(from_m: Any, x_m: Any, y_m: Any, walls: Barriers, loss_db: Any) -> Any:
    """The plain way, in plan only: two sign comparisons per cell and wall, 32-bit, in tiles."""
    px, py = np.float32(from_m[0]), np.float32(from_m[1])
    cells = np.stack(np.meshgrid(x_m, y_m), axis=-1).reshape(-1, 2).astype(np.float32)
    ends, losses = walls.ends_m.astype(np.float32), loss_db.astype(np.float32)
    total = np.zeros(len(cells), dtype=np.float32)
    for start in range(0, len(cells), TILE):
        x, y = cells[start : start + TILE, 0], cells[start : start + TILE, 1]
        ray_x, ray_y = x - px, y - py
        for ((ax, ay), (bx, by)), loss in zip(ends, losses, strict=True):
            behind = ((bx - ax) * (y - ay) - (by - ay) * (x - ax) < 0) != (
                (bx - ax) * (py - ay) - (by - ay) * (px - ax) < 0
            )
            a_left = ray_x * (ay - py) - ray_y * (ax - px) < 0
            b_left = ray_x * (by - py) - ray_y * (bx - px) < 0
            total[start : start + TILE] += (behind & (a_left != b_left)) * loss
    return total.reshape(len(y_m), len(x_m))


def by_shapely(from_m: Any, x_m: Any, y_m: Any, walls: Barriers, loss_db: Any) -> Any:
    """Each ray against each wall by prepared segments."""
    cells = np.stack(np.meshgrid(x_m, y_m), axis=-1).reshape(-1, 2)
    rays = shapely.linestrings(np.stack([np.broadcast_to(from_m[:2], cells.shape), cells], axis=1))
    segments = shapely.linestrings(walls.ends_m)
    shapely.prepare(segments)
    total = sum(shapely.intersects(wall, rays) * loss for wall, loss in zip(segments, loss_db, strict=True))
    return np.asarray(total).reshape(len(y_m), len(x_m))


def seconds(work: Callable[[], object], rounds: int) -> float:
    """The best of some rounds."""
    best = np.inf
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return float(best)


def main() -> None:
    """Measure and print."""
    random = np.random.default_rng(20260301)
    walls, loss_db = hall(random)
    x_m, y_m = (np.arange(COLUMNS) + 0.5) * WIDTH_M / COLUMNS, (np.arange(ROWS) + 0.5) * DEPTH_M / ROWS
    spots = random.uniform(0, 1, (TRANSMITTERS, 2)) * [WIDTH_M, DEPTH_M]
    few_x, few_y = x_m[::12], y_m[::12]

    def shadows(height_m: float) -> Any:
        for x, y in spots:
            found = wall_loss_on_grid_db(np.array([x, y, height_m]), x_m, y_m, CELL_HEIGHT_M, walls, loss_db)
        return found

    written = np.empty((TRANSMITTERS, ROWS, COLUMNS), dtype=np.float32)
    pairs = COLUMNS * ROWS * WALLS
    plain = every_cell(spots[-1], x_m, y_m, walls, loss_db)
    differing = int((np.abs(plain - shadows(LOW_M)) > 0.01).sum())
    one = spots[0]
    rows = [
        ("shadows, all below the walls' tops", pairs * TRANSMITTERS, seconds(lambda: shadows(LOW_M), 5)),
        ("shadows, transmitters above the walls", pairs * TRANSMITTERS, seconds(lambda: shadows(HIGH_M), 5)),
        ("every cell, 32-bit tiles, in plan", pairs, seconds(lambda: every_cell(one, x_m, y_m, walls, loss_db), 1)),
        (
            "shapely, 1 cell in 144, in plan",
            len(few_x) * len(few_y) * WALLS,
            seconds(lambda: by_shapely(one, few_x, few_y, walls, loss_db), 1),
        ),
        ("writing the result once", pairs * TRANSMITTERS, seconds(lambda: written.fill(1.0), 5)),
    ]
    ours = rows[0][1] / rows[0][2]
    print(f"{TRANSMITTERS} transmitters x {COLUMNS * ROWS:,} cells x {WALLS} walls; cells in which 32-bit rounding")
    print(f"makes the plain way differ from the shadows, for one transmitter: {differing}\n")
    print("| way | s for the whole case | G decisions/s | the first row is so many times as fast |")
    print("| --- | ---: | ---: | ---: |")
    for way, decisions, took_s in rows:
        rate = decisions / took_s
        print(f"| {way} | {pairs * TRANSMITTERS / rate:.4f} | {rate / 1e9:.3f} | {ours / rate:.2f} |")


if __name__ == "__main__":
    main()
