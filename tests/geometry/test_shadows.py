"""Wall loss on a grid against the comparison of every cell with every wall, cell for cell, and against shapely."""

import dataclasses

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from showplan.geometry.crossings import Barriers, Slabs, crossed_slabs
from showplan.geometry.shadows import slabs_crossed_on_grid, wall_loss_on_grid_db
from showplan.planner.propagation import Propagation
from tests.geometry.one_by_one import crossed_barriers
from tests.scenes import HALL, scenes

MOST_CASES = 20_000
A_HUNDREDTH_DB = 0.01
ENOUGH_DECISIONS = 100_000  # cell-wall decisions per run


def every_cell(x_m, y_m, height_m):
    cells = np.stack(np.meshgrid(x_m, y_m), axis=-1).reshape(-1, 2)
    return np.column_stack([cells, np.full(len(cells), height_m)])


def one_by_one(from_m, x_m, y_m, height_m, walls, steps):
    """Loss in thousandths of a dB by comparing every cell with every wall."""
    total = np.zeros((1, len(x_m) * len(y_m)), dtype=np.int64)
    found = crossed_barriers(np.asarray(from_m, dtype=float)[None], every_cell(x_m, y_m, height_m), walls)
    for crossed, loss in zip(found, steps, strict=True):
        total += crossed * loss
    return total.reshape(len(y_m), len(x_m))


def by_shadows(from_m, x_m, y_m, height_m, walls, steps):
    loss_db = wall_loss_on_grid_db(from_m, x_m, y_m, height_m, walls, steps / 1000)
    return np.rint(loss_db.astype(float) * 1000).astype(np.int64)


def even_axis(random, step_m):
    return (np.arange(random.integers(1, 25)) + random.choice([0.0, 0.5])) * step_m


def uneven_axis(random, _):
    return np.sort(random.uniform(0, 10, random.integers(1, 25)))


def short_last_axis(random, step_m):
    axis = np.arange(random.integers(3, 25)) * step_m
    axis[-1] -= step_m * random.uniform(0.05, 0.5)
    return axis


def lattice_point(random, step_m, *shape):
    return random.integers(-4, 24, shape) * step_m * random.choice([1.0, 0.5])


def any_point(random, step_m, *shape):
    return random.uniform(-4 * step_m, 24 * step_m, shape)


def made_awkward(random, from_m, ends_m):
    """Walls of no length, walls in one line, walls along rows, transmitters on a wall or at its end."""
    if len(ends_m) and random.random() < 0.3:
        ends_m[0, 1] = ends_m[0, 0]
    if len(ends_m) > 1 and random.random() < 0.4:
        ends_m[1, :, random.integers(0, 2)] = ends_m[1, 0, 0]
    if len(ends_m) > 2 and random.random() < 0.4:
        ends_m[2, 0] = ends_m[1, 1]
    if len(ends_m) and random.random() < 0.3:
        from_m[:2] = ends_m[0].mean(axis=0) if random.random() < 0.5 else ends_m[-1, 0]


HEIGHTS_M = {
    "between base and top": ([1.5], [1.2], [0.0], [4.0]),
    "level rays": ([1.0, 2.0], [1.0, 2.0], [0.0, 1.0, 2.0], [0.5, 1.0]),
    "over and under": ([0.3, 1.0, 2.0, 3.0, 6.0], [0.7, 1.0, 2.0, 3.0], [0.0, 0.3, 1.0, 1.5], [0.1, 0.5, 1.0, 3.0]),
    "nearly level": ([1.0], [1.0 + 1e-15, 1.0 - 1e-13, 1.0 + 1e-9], [0.0, 1.0, 1.0 + 5e-10], [1e-12, 1.0]),
}


@pytest.mark.parametrize("heights", HEIGHTS_M)
@pytest.mark.parametrize("axis", [even_axis, uneven_axis, short_last_axis])
@pytest.mark.parametrize("point", [lattice_point, any_point])
def test_no_cell_differs_from_one_by_one(point, axis, heights: str) -> None:
    random = np.random.default_rng(20260301)
    from_heights, cell_heights, bases, sizes = HEIGHTS_M[heights]
    decisions = 0
    for _ in range(MOST_CASES):
        step_m = random.choice([1.0, 0.5, 0.25, 0.1, 0.7])
        x_m, y_m = axis(random, step_m), axis(random, step_m)
        ends_m = point(random, step_m, int(random.integers(0, 9)), 2, 2)
        from_m = np.append(point(random, step_m, 2), random.choice(from_heights))
        made_awkward(random, from_m, ends_m)
        low_m = random.choice(bases, len(ends_m))
        walls = Barriers(ends_m, low_m, low_m + random.choice(sizes, len(ends_m)))
        case = (from_m, x_m, y_m, random.choice(cell_heights), walls, random.integers(0, 9000, len(ends_m)))
        np.testing.assert_array_equal(by_shadows(*case), one_by_one(*case))
        decisions += len(x_m) * len(y_m) * len(ends_m)
        if decisions > ENOUGH_DECISIONS:
            return
    pytest.fail(f"only {decisions} decisions")


def test_a_venue_far_from_its_origin_and_more_walls_than_fit_at_once() -> None:
    random = np.random.default_rng(7)
    x_m, y_m = 9_000 + np.arange(160) * 0.05, -8_000 + np.arange(100) * 0.05
    ends_m = np.round(random.uniform([9_000, -8_000], [9_008, -7_995], (900, 2, 2)), 2)
    walls = Barriers(ends_m, np.full(900, 500.0), np.full(900, 502.0))
    for from_m, height_m in (((9_001.0, -7_998.0, 503.0), 500.5), ((9_000.025, -7_999.975, 501.0), 501.0)):
        case = (np.array(from_m), x_m, y_m, height_m, walls, random.integers(0, 9000, 900))
        np.testing.assert_array_equal(by_shadows(*case), one_by_one(*case))


def test_agrees_with_shapely_in_general_position() -> None:
    """shapely (GEOS) as the outside reference: 120,000 rays and walls."""
    random = np.random.default_rng(11)
    x_m, y_m = np.sort(random.uniform(0, 80, 40)), np.sort(random.uniform(0, 50, 30))
    for _ in range(5):
        from_m = np.append(random.uniform(0, 50, 2), 1.0)
        ends_m = random.uniform(0, 50, (20, 2, 2))
        walls = Barriers(ends_m, np.zeros(20), np.full(20, 3.0))
        steps = 3 ** np.arange(20) // 3**8 + 1
        cells = every_cell(x_m, y_m, 1.0)[:, :2]
        rays = shapely.linestrings(np.stack([np.broadcast_to(from_m[:2], cells.shape), cells], axis=1))
        hits = shapely.intersects(rays[:, None], shapely.linestrings(ends_m)[None, :])
        expected = (hits @ steps).reshape(len(y_m), len(x_m))
        np.testing.assert_array_equal(by_shadows(from_m, x_m, y_m, 1.0, walls, steps), expected)


def test_floors_agree_with_one_by_one() -> None:
    random = np.random.default_rng(5)
    for _ in range(200):
        x_m, y_m = even_axis(random, 1.0), uneven_axis(random, 1.0)
        low_m = random.integers(0, 10, (4, 2)).astype(float)
        slabs = Slabs(np.stack([low_m, low_m + random.integers(1, 12, (4, 2))], axis=1), np.array([0.0, 3.0, 3.5, 7.0]))
        from_m = random.integers(0, 12, 3).astype(float)
        height_m = float(random.integers(0, 9))
        crossed = crossed_slabs(from_m[None], every_cell(x_m, y_m, height_m), slabs)
        for found, expected in zip(slabs_crossed_on_grid(from_m, x_m, y_m, height_m, slabs), crossed, strict=True):
            np.testing.assert_array_equal(found.ravel(), expected[0])


@settings(max_examples=50, deadline=None)
@given(scenes(), st.sampled_from([0.0, 1.2, 1.5, 9.0]))
def test_the_planner_s_loss_on_a_grid_is_that_between_points(scene, height_m: float) -> None:
    x_m, y_m = np.arange(0.25, 40, 1.5), np.arange(0.25, 20, 1.5)
    upper = dataclasses.replace(scene.level(HALL), name="Upper", elevation_m=7.0)
    propagation = Propagation(dataclasses.replace(scene, levels=(*scene.levels, upper)), 2475.0)
    place = scene.nodes[0].placement
    from_m = np.array([*place.position_m, place.height_m])
    between_db = propagation.path_loss_db(from_m[None], every_cell(x_m, y_m, height_m))
    on_grid_db = propagation.path_loss_on_grid_db(from_m, x_m, y_m, height_m)
    np.testing.assert_allclose(on_grid_db.ravel(), between_db[0], atol=A_HUNDREDTH_DB)


@pytest.mark.parametrize(
    ("x_m", "loss_db", "words"),
    [
        ([0.0, 2.0, 1.0], 3.0, "must rise"),
        ([0.0, 1.0, 1.0], 3.0, "must rise"),
        ([0.0, 1.0, 2.0], 2.5e6, "below 2,000,000 dB"),
        ([0.0, 1.0, 2.0], np.nan, "must be a number"),
    ],
)
def test_what_cannot_be_computed_is_told(x_m, loss_db: float, words: str) -> None:
    wall = Barriers(np.array([[[0.0, 1.0], [2.0, 1.0]]]), np.zeros(1), np.ones(1))
    with pytest.raises(ValueError, match=words):
        wall_loss_on_grid_db(np.zeros(3), np.array(x_m), np.arange(3.0), 0.5, wall, np.array([loss_db]))
