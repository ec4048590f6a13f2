"""How fast walls are counted, on a grid and between points: run by hand, `python tests/scale/bench_coverage.py`.

Cell x transmitter x wall decisions per second, in one run: the shadows of `showplan.geometry.shadows` on one core and
two, a compiled loop over every wall, tiled 32-bit arrays and shapely on smaller samples, and the time it takes to
write the result once. Then points off the grid: sectors of `showplan.geometry.rays_through` beside a compiled loop over
every wall and plain numpy. An 80 x 50 m hall with walls of 2 to 15 m. The ways take turns, and of many turns the one
of least processor time counts, so that other work on the machine disturbs little. Prints Markdown tables; the ratios
count.
"""

import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numba
import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).parents[2]))

from showplan.geometry.crossings import Barriers, sum_crossed
from showplan.geometry.rays_through import share_of_ray
from showplan.geometry.shadows import wall_loss_on_grid_db
from tests.geometry.one_by_one import crossed_barriers

COLUMNS, ROWS, WALLS, TRANSMITTERS = 1265, 791, 200, 10  # one million cells
WIDTH_M, DEPTH_M, CELL_HEIGHT_M, WALL_TOP_M = 80.0, 50.0, 1.2, 4.0
LOW_M, HIGH_M = 1.5, 6.0  # transmitters below the walls' tops, and above them
TILE = 1 << 14  # cells: a tile's arrays stay in the processor's cache
TURNS = 40
# Points: transmitters, points, walls. A hall with three zones; candidate sites against thirty zones.
POINTS = ((8, 370, 200), (8, 370, 1000), (100, 3070, 1000))


def hall(random: np.random.Generator, count: int = WALLS) -> tuple[Barriers, Any]:
    """Walls with their loss in dB."""
    start = random.uniform(0, 1, (count, 2)) * [WIDTH_M, DEPTH_M]
    angle, length = random.uniform(0, 2 * np.pi, count), random.uniform(2, 15, count)
    ends = np.stack([start, start + np.column_stack([np.cos(angle), np.sin(angle)]) * length[:, None]], axis=1)
    return Barriers(ends, np.zeros(count), np.full(count, WALL_TOP_M)), random.integers(500, 9000, count) / 1000


@numba.njit(_nrt=False)
def every_wall(from_m: Any, to_m: Any, ends: Any, low: Any, high: Any, losses: Any, sums: Any) -> None:
    """The product's comparison for every ray and wall, compiled."""
    for i in range(len(from_m)):
        for j in range(len(to_m)):
            total = 0.0
            for w in range(len(losses)):
                share = share_of_ray(from_m[i, 0], from_m[i, 1], to_m[j, 0], to_m[j, 1], ends[w])
                z = from_m[i, 2] + share * (to_m[j, 2] - from_m[i, 2])
                if z >= low[w] and z < high[w]:
                    total += losses[w]
            sums[i, j] = total


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


def best_seconds(ways: dict[str, Callable[[], object]], turns: int) -> dict[str, tuple[float, float]]:
    """The least processor time and the least wall time of each way; they take turns."""
    best = dict.fromkeys(ways, (np.inf, np.inf))
    for _ in range(turns):
        for name, work in ways.items():
            start = time.process_time(), time.perf_counter()
            work()
            took = time.process_time() - start[0], time.perf_counter() - start[1]
            best[name] = min(best[name][0], took[0]), min(best[name][1], took[1])
    return best


def on_a_grid(random: np.random.Generator) -> None:
    """A million cells."""
    walls, loss_db = hall(random)
    x_m, y_m = (np.arange(COLUMNS) + 0.5) * WIDTH_M / COLUMNS, (np.arange(ROWS) + 0.5) * DEPTH_M / ROWS
    spots = random.uniform(0, 1, (TRANSMITTERS, 2)) * [WIDTH_M, DEPTH_M]
    few_x, few_y = x_m[::12], y_m[::12]
    few = np.column_stack([a.ravel() for a in np.meshgrid(few_x, few_y)] + [np.full(len(few_x) * len(few_y), 1.2)])
    written = np.empty((TRANSMITTERS, ROWS, COLUMNS), dtype=np.float32)
    sums = np.empty((1, len(few)))

    def shadows(spot: Any, height_m: float = LOW_M) -> Any:
        return wall_loss_on_grid_db(np.array([*spot, height_m]), x_m, y_m, CELL_HEIGHT_M, walls, loss_db)

    def in_turn(height_m: float) -> None:
        for spot in spots:
            shadows(spot, height_m)

    def compiled_loop() -> None:
        every_wall(np.array([[*spots[0], LOW_M]]), few, walls.ends_m, walls.low_m, walls.high_m, loss_db, sums)

    one = spots[0]
    differing = int((np.abs(every_cell(one, x_m, y_m, walls, loss_db) - shadows(one)) > 0.01).sum())
    with ThreadPoolExecutor(2) as pool:
        best = best_seconds(
            {
                "shadows": lambda: in_turn(LOW_M),
                "shadows, two threads": lambda: list(pool.map(lambda spot: bool(shadows(spot).size), spots)),
                "shadows, transmitters above the walls": lambda: in_turn(HIGH_M),
                "compiled loop over every wall": compiled_loop,
                "writing the result once": lambda: written.fill(1.0),
            },
            TURNS,
        )
    best |= best_seconds(
        {
            "every cell, 32-bit tiles, in plan": lambda: every_cell(one, x_m, y_m, walls, loss_db),
            "shapely, in plan": lambda: by_shapely(one, few_x, few_y, walls, loss_db),
        },
        1,
    )
    whole, sample = COLUMNS * ROWS * WALLS * TRANSMITTERS, len(few) * WALLS
    decisions = {"every cell, 32-bit tiles, in plan": whole // TRANSMITTERS, "shapely, in plan": sample}
    decisions["compiled loop over every wall"] = sample
    writing_s = best["writing the result once"][0]
    print(f"{TRANSMITTERS} transmitters x {COLUMNS * ROWS:,} cells x {WALLS} walls; cells in which 32-bit rounding")
    print(f"makes the plain way differ from the shadows, for one transmitter: {differing}\n")
    print("| way | processor, s for the whole case | wall time, s | G decisions/s of processor | times the writing |")
    print("| --- | ---: | ---: | ---: | ---: |")
    for way, (took_s, wall_s) in best.items():
        of_whole = whole / decisions.get(way, whole)
        rate = whole / (took_s * of_whole) / 1e9
        times = took_s * of_whole / writing_s
        print(f"| {way} | {took_s * of_whole:.4f} | {wall_s * of_whole:.4f} | {rate:.3f} | {times:.1f} |")


def between_points(random: np.random.Generator) -> None:
    """Points anywhere."""
    print("\n| transmitters x points x walls | sectors, processor ms | compiled loop | numpy |")
    print("| --- | ---: | ---: | ---: |")
    for senders, points, count in POINTS:
        walls, loss_db = hall(random, count)
        size = [WIDTH_M, DEPTH_M, 3.0]
        from_m, to_m = random.uniform(0, 1, (senders, 3)) * size, random.uniform(0, 1, (points, 3)) * size
        weights, sums = loss_db[:, None].copy(), np.empty((senders, points))
        numbers = (from_m, to_m, walls.ends_m, walls.low_m, walls.high_m, loss_db, sums)
        every_wall(*numbers)
        np.testing.assert_array_equal(sum_crossed(from_m, to_m, walls, weights)[..., 0], sums)
        best = best_seconds(
            {
                "sectors": lambda: sum_crossed(from_m, to_m, walls, weights),  # noqa: B023
                "loop": lambda: every_wall(*numbers),  # noqa: B023
                "numpy": lambda: sum(hit * 1.0 for hit in crossed_barriers(from_m, to_m, walls)),  # noqa: B023
            },
            TURNS if senders * points * count < 1e7 else 1,
        )
        cells = " | ".join(f"{1000 * took_s:.2f}" for took_s, _ in best.values())
        print(f"| {senders} x {points:,} x {count} | {cells} |")


def main() -> None:
    """Measure and print."""
    random = np.random.default_rng(20260301)
    on_a_grid(random)
    between_points(random)


if __name__ == "__main__":
    main()
