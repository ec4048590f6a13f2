"""Which rays cross which walls and floors, against shapely and on the degenerate cases."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from showplan.geometry.crossings import Barriers, Slabs, crossed_barriers, crossed_slabs

few = settings(max_examples=100, deadline=None)


def barriers(*ends: tuple[tuple[float, float], tuple[float, float]], low: float = 0.0, high: float = 3.0) -> Barriers:
    count = len(ends)
    return Barriers(np.array(ends, dtype=float).reshape(-1, 2, 2), np.full(count, low), np.full(count, high))


def crossings(start: tuple[float, ...], end: tuple[float, ...], walls: Barriers) -> list[bool]:
    found = crossed_barriers(np.array([start], dtype=float), np.array([end], dtype=float), walls)
    return [bool(one[0, 0]) for one in found]


@pytest.mark.parametrize("seed", range(20))
def test_agrees_with_shapely_on_random_walls(seed: int) -> None:
    """shapely (GEOS) as the outside reference: 20 x 2,500 pairs of segments in general position."""
    random = np.random.default_rng(seed)
    from_m, to_m = random.uniform(0, 50, (50, 3)), random.uniform(0, 50, (50, 3))
    from_m[:, 2] = to_m[:, 2] = 1.0
    walls = barriers(*random.uniform(0, 50, (1, 2, 2)))
    [found] = crossed_barriers(from_m, to_m, walls)
    rays = shapely.linestrings(
        np.stack([np.repeat(from_m[:, None, :2], 50, axis=1), np.repeat(to_m[None, :, :2], 50, axis=0)], axis=2)
    )
    np.testing.assert_array_equal(found, shapely.intersects(rays, shapely.linestrings(walls.ends_m[0])))


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
