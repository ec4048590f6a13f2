"""Points that stand for an area."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from showplan.geometry.polygons import polygon_faults
from showplan.geometry.sampling import grid_centres, points_in_polygon


@settings(max_examples=60, deadline=None)
@given(st.floats(0.5, 200), st.floats(0.5, 200), st.floats(0, math.pi))
def test_points_lie_evenly_in_the_polygon(width: float, depth: float, angle: float) -> None:
    corners = shapely.affinity.rotate(shapely.box(0, 0, width, depth), angle, use_radians=True).exterior.coords[:-1]
    points = points_in_polygon(corners)
    area = shapely.Polygon(corners).buffer(1e-6)
    assert shapely.contains_xy(area, points[:, 0], points[:, 1]).all()
    assert 1 <= len(points) <= 200
    centre = shapely.Polygon(corners).centroid
    np.testing.assert_allclose(points.mean(axis=0), [centre.x, centre.y], atol=0.1 * max(width, depth) + 0.3)


def test_cells_cover_the_level_exactly() -> None:
    x, y = grid_centres((2.0, -1.0), 10.0, 3.2, 1.0)
    assert (len(x), len(y)) == (10, 4)
    assert (x[0], x[-1]) == (2.5, 11.5)
    assert y[-1] == pytest.approx(2.1)  # the last row is 0.2 m deep


@pytest.mark.parametrize(
    ("corners", "words"),
    [
        ("square", "a list of at least 3"),
        ([[0, 0], [1, 1]], "a list of at least 3"),
        ([[0, 0], [1, 1], [1]], "corner 3"),
        ([[0, 0], [1, 1], [1, float("nan")]], "corner 3"),
        ([[0, 0], [1, True], [1, 0]], "corner 2"),
        ([[0, 0], [2, 2], [2, 0], [0, 2]], "crosses"),
        ([[0, 0], [1, 1], [2, 2]], "crosses or touches itself"),
    ],
)
def test_what_is_no_zone_is_told(corners, words: str) -> None:
    assert words in " ".join(polygon_faults(corners))


def test_a_zone_may_be_hollow_towards_one_side() -> None:
    assert polygon_faults([[0, 0], [4, 0], [4, 4], [2, 1], [0, 4]]) == []
