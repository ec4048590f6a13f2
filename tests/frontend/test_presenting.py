"""Small pieces of the pages: numbers in words, spread nodes, room for labels, the choice of what to show."""

from dataclasses import replace
from datetime import date

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from frontend.present.drawing import material_letter
from frontend.present.labels import CORNERS, SIDES, Box, Wish, placed
from frontend.present.places import spread
from frontend.present.words import counted, day, decibels, number


@pytest.mark.parametrize(
    ("value", "words"),
    [(0.1, "0.1"), (-1.249, "−1.249"), (1e9, "1\u202f000\u202f000\u202f000"), (2.5e-7, "2.5e−07"), (-40.0, "−40")],
)
def test_numbers_read_well(value, words):
    assert number(value) == words


def test_dates_decibels_and_counts_read_well():
    assert day(date(2026, 10, 3)) == "Sat 3 Oct 2026"
    assert decibels(-0.04) == "−0.0 dB"
    assert (counted(1, "node"), counted(0, "node")) == ("1 node", "0 nodes")


def test_letters_go_on_after_z():
    assert [material_letter(index) for index in (0, 25, 26, 27, 52)] == ["A", "Z", "AA", "AB", "BA"]


@given(count=st.integers(1, 60), width_m=st.floats(0.2, 200.0), depth_m=st.floats(0.2, 200.0))
def test_nodes_of_a_zone_are_spread_inside_it_each_on_its_own_spot(count, width_m, depth_m):
    corners_m = [(0.0, 0.0), (width_m, 0.0), (0.0, depth_m)]
    spots = spread(corners_m, count)
    assert len(spots) == count
    area = shapely.Polygon(corners_m).buffer(1e-6)
    assert all(area.contains(shapely.Point(spot)) for spot in spots)


def test_a_sliver_of_a_zone_still_holds_its_nodes_apart():
    corners_m = [(0.0, 0.0), (9.0, 0.0), (9.0, 1e-5)]
    one, other = spread(corners_m, 2)
    assert all(shapely.Polygon(corners_m).contains(shapely.Point(spot)) for spot in (one, other))
    assert other[0] - one[0] > 1


def test_a_zone_too_small_for_a_lattice_holds_its_nodes_in_its_middle():
    spots = spread([(0.0, 0.0), (0.006, 0.0), (0.006, 0.006)], 2)
    assert [spot == pytest.approx((0.004, 0.002)) for spot in spots] == [True, True]


@given(
    points=st.lists(st.tuples(st.floats(0, 1000), st.floats(0, 500)), min_size=1, max_size=30),
    words=st.text("abcdefgh", min_size=1, max_size=12),
)
def test_no_two_labels_overlap(points, words):
    sheet = Box(0, 0, 1000, 500)
    texts = placed([Wish(words, x, y, 8, 19) for x, y in points], [], sheet)
    width = 0.5 * 19 * len(words)
    before = {"start": 0.0, "middle": width / 2, "end": width}
    starts = [(float(t.x) - before[t.anchor], float(t.y)) for t in texts if t is not None]
    boxes = [Box(x, y - 14, x + width, y) for x, y in starts]
    for index, box in enumerate(boxes):
        assert not any(box.meets(other) for other in boxes[:index])


def test_a_label_gives_way_to_a_shape_and_to_the_edge():
    sheet = Box(0, 0, 100, 100)
    wish = Wish("aaaa", 50, 50, 5, 10)
    [free] = placed([wish], [], sheet)
    [moved] = placed([wish], [Box(55, 40, 80, 60)], sheet)
    [none] = placed([wish], [sheet], sheet)
    assert free is not None
    assert moved is not None
    assert float(moved.x) < 50 < float(free.x)
    assert none is None


def test_a_label_is_held_next_to_its_point_however_wide_its_letters_are():
    sheet, wish = Box(0, 0, 100, 100), Wish("aaaa", 50, 50, 5, 10, ("left",))
    found = {
        side: text for side in (*SIDES, *CORNERS) for text in placed([replace(wish, sides=(side,))], [], sheet) if text
    }
    assert {side: (text.anchor, float(text.x)) for side, text in found.items()} == {
        "right": ("start", 55),
        "left": ("end", 45),
        "below": ("middle", 50),
        "above": ("middle", 50),
        "above right": ("start", 53.5),
        "below right": ("start", 53.5),
        "above left": ("end", 46.5),
        "below left": ("end", 46.5),
    }


def test_a_label_stands_off_the_lines():
    wish, sheet = Wish("ab", 50, 50, 4, 10, (*SIDES, *CORNERS)), Box(0, 0, 100, 100)
    cross = [(0, 50, 100, 50), (50, 0, 50, 100)]
    [plain], [moved] = placed([wish], [], sheet), placed([wish], [], sheet, cross)
    assert plain is not None
    assert moved is not None
    assert (float(plain.x), float(moved.x)) == (54, 52.8)
    assert float(moved.y) < 50 - 2.8
    below = [*cross, (50, 50, 100, 0), (50, 50, 0, 0)]
    [other] = placed([wish], [], sheet, below)
    assert other is not None
    assert float(other.y) > 50 + 2.8
