"""Which rays cross which walls and floors, against shapely and on the degenerate cases."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from showplan.geometry.crossings import Barriers, Slabs, crossed_slabs, share_at_wall, sum_crossed, sum_crossed_by_pairs
from tests.geometry.one_by_one import crossed_barriers, crossed_in_plan

few = settings(max_examples=100, deadline=None)
ENOUGH_RAYS_AND_WALLS = 100_000  # per run


def barriers(*ends: tuple[tuple[float, float], tuple[float, float]], low: float = 0.0, high: float = 3.0) -> Barriers:
    count = len(ends)
    return Barriers(np.array(ends, dtype=float).reshape(-1, 2, 2), np.full(count, low), np.full(count, high))


def crossed(from_m, to_m, walls: Barriers):
    """Booleans (w, n, m): each wall has a column of its own among the weights."""
    return np.moveaxis(sum_crossed(from_m, to_m, walls, np.eye(len(walls))), -1, 0) > 0


def crossings(start: tuple[float, ...], end: tuple[float, ...], walls: Barriers) -> list[bool]:
    found = crossed(np.array([start], dtype=float), np.array([end], dtype=float), walls)
    return [bool(one[0, 0]) for one in found]


@pytest.mark.parametrize("seed", range(20))
def test_agrees_with_shapely_on_random_walls(seed: int) -> None:
    """shapely (GEOS) as the outside reference: 20 x 10,000 pairs of segments in general position."""
    random = np.random.default_rng(seed)
    from_m, to_m = random.uniform(0, 50, (50, 3)), random.uniform(0, 50, (50, 3))
    from_m[:, 2] = to_m[:, 2] = 1.0
    walls = barriers(*random.uniform(0, 50, (4, 2, 2)))
    rays = shapely.linestrings(
        np.stack([np.repeat(from_m[:, None, :2], 50, axis=1), np.repeat(to_m[None, :, :2], 50, axis=0)], axis=2)
    )
    for found, ends_m in zip(crossed(from_m, to_m, walls), walls.ends_m, strict=True):
        np.testing.assert_array_equal(found, shapely.intersects(rays, shapely.linestrings(ends_m)))


def on_a_lattice(random, *shape: int):
    return random.integers(0, 6, shape) * 0.5


def anywhere(random, *shape: int):
    return random.uniform(0, 3, shape)


def nearly_on_a_lattice(random, *shape: int):
    """Lines that all but meet: what rounding can make of them must be the same in both forms."""
    return on_a_lattice(random, *shape) + random.choice([0.0, 0.0, 1e-16, -1e-15, 1e-12, 1e-9], shape)


def far_off(random, *shape: int):
    return 9_000 + np.round(random.uniform(0, 8, shape), 2)


@pytest.mark.parametrize("points", [on_a_lattice, anywhere, nearly_on_a_lattice, far_off])
def test_no_ray_differs_from_one_by_one(points) -> None:
    """Sums, their order included, to the last bit; transmitters on walls, at their ends and in their lines."""
    random = np.random.default_rng(20260301)
    looked_at = 0
    while looked_at < ENOUGH_RAYS_AND_WALLS:
        from_m, to_m = points(random, 6, 3), points(random, int(random.integers(0, 60)), 3)
        ends_m = points(random, int(random.integers(0, 12)), 2, 2)
        for wall in range(0, len(ends_m), 5):
            from_m[wall % 6, :2] = ends_m[wall, 0] if wall % 2 else 2 * ends_m[wall, 0] - ends_m[wall, 1]
        to_m[::9] = from_m[0]
        low_m = points(random, len(ends_m)) - 1.0
        walls = Barriers(ends_m, low_m, low_m + random.choice([0.5, 1.0, 9.0], len(ends_m)))
        weights = np.column_stack([random.uniform(0, 9, len(ends_m)), np.ones(len(ends_m))])
        expected = np.zeros((len(from_m), len(to_m), 2))
        for hit, weight in zip(crossed_barriers(from_m, to_m, walls), weights, strict=True):
            expected += hit[..., None] * weight
        np.testing.assert_array_equal(sum_crossed(from_m, to_m, walls, weights), expected)
        looked_at += len(from_m) * len(to_m) * len(ends_m)


def test_pairs_and_single_walls_agree_with_the_rest() -> None:
    random = np.random.default_rng(3)
    from_m, to_m = on_a_lattice(random, 5, 3), on_a_lattice(random, 40, 3)
    walls = barriers(*on_a_lattice(random, 8, 2, 2))
    whole = sum_crossed(from_m, to_m, walls, np.eye(8))
    rows, columns = np.tile(np.arange(5), 40), np.repeat(np.arange(40), 5)
    pairs = sum_crossed_by_pairs(from_m[rows], to_m[columns], walls, np.eye(8))
    np.testing.assert_array_equal(pairs, whole[rows, columns])
    for ends_m in walls.ends_m:
        in_plan, share = crossed_in_plan(from_m[:, None], to_m[None], ends_m)
        np.testing.assert_array_equal(
            share_at_wall(from_m[:, None], to_m[None], ends_m), np.where(in_plan, share, np.nan)
        )


on_lattice = st.tuples(st.integers(0, 4), st.integers(0, 4)).map(lambda point: (float(point[0]), float(point[1])))


@few
@given(on_lattice, on_lattice, on_lattice, on_lattice)
def test_the_answer_is_the_same_in_both_directions(p, q, a, b) -> None:
    walls = barriers((a, b))
    assert crossings((*p, 1.0), (*q, 1.0), walls) == crossings((*q, 1.0), (*p, 1.0), walls)


@few
@given(on_lattice, on_lattice, on_lattice)
def test_a_wall_drawn_in_two_parts_counts_once(p, q, joint) -> None:
    """A straight wall from (0, 2) to (4, 2), whole or split at a point of it; the ray may go through the joint."""
    joint = (joint[0], 2.0)
    whole = crossings((*p, 1.0), (*q, 1.0), barriers(((0.0, 2.0), (4.0, 2.0))))
    split = crossings((*p, 1.0), (*q, 1.0), barriers(((0.0, 2.0), joint), (joint, (4.0, 2.0))))
    assert sum(split) == sum(whole)


@pytest.mark.parametrize(
    ("start", "end", "crosses"),
    [
        ((0, 0, 1), (4, 4, 1), True),
        ((0, 0, 1), (1, 1, 1), False),
        ((0, 2, 1), (4, 2, 1), False),  # along the wall
        ((2, 0, 1), (2, 0, 2), False),  # straight up
        ((2, 0, 2.9), (2, 4, 2.9), True),
        ((2, 0, 3.0), (2, 4, 3.0), False),  # just over the top
        ((2, 0, 4.0), (2, 4, 1.0), True),  # dips through it
        ((2, 1.9, 4.0), (2, 4, 0.5), False),  # still above it where it crosses the line
    ],
)
def test_height_decides_too(start, end, crosses: bool) -> None:
    assert crossings(start, end, barriers(((0.0, 2.0), (4.0, 2.0)))) == [crosses]


@pytest.mark.parametrize(
    ("start", "end", "crosses"),
    [
        ((1, 1, 1), (1, 1, 5), True),
        ((1, 1, 1), (1, 1, 3.9), False),
        ((1, 1, 4), (1, 1, 5), False),  # lying on the slab is above it
        ((9, 9, 1), (9, 9, 5), False),  # beside the balcony
        ((9, 1, 3), (1, 1, 5), True),
        ((9, 1, 3.9), (1, 1, 9), False),  # passes its elevation before it is over it
    ],
)
def test_a_slab_is_crossed_only_where_it_is(start, end, crosses: bool) -> None:
    balcony = Slabs(np.array([[[0.0, 0.0], [6.0, 6.0]]]), np.array([4.0]))
    [found] = crossed_slabs(np.array([start], dtype=float), np.array([end], dtype=float), balcony)
    assert bool(found[0, 0]) is crosses
