"""The coverage picture: its size, its colours, what it shows, and that it is not sent twice."""

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from showplan.planner.classes import MARGIN_CLASSES, margin_class
from showplan.services.pictures import HATCH_COLOUR, class_shares, coverage_png, level_coverage
from showplan.services.planning import plan_venue
from tests.frontend.pages import signed_in

pytestmark = pytest.mark.django_db

# Cividis at 0, 1/4, 1/2, 3/4, 1 of its 256 entries (0, 64, 128, 192, 255).
# Source: Nunez, Anderton, Renslow, PLoS ONE 13(7) e0199239, 2018; the published table, CC0.
CIVIDIS = ("#00224e", "#434e6c", "#7d7c78", "#bcae6c", "#fee838")


def _picture(content: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(content)).convert("RGB"))


def _rgb(colour: str) -> tuple[int, ...]:
    return tuple(int(colour[i : i + 2], 16) for i in (1, 3, 5))


def test_the_colours_are_the_published_ones():
    assert tuple(one.colour for one in MARGIN_CLASSES) == CIVIDIS


@pytest.mark.parametrize(
    ("margin_db", "words"),
    [
        (-0.01, "not served"),
        (0.0, "thin"),
        (2.99, "thin"),
        (3.0, "sound"),
        (10.0, "strong"),
        (19.99, "strong"),
        (20.0, "very strong"),
    ],
)
def test_a_margin_belongs_to_the_class_whose_lower_end_it_reaches(margin_db, words):
    assert margin_class(margin_db).words == words


def test_no_two_classes_look_alike_without_colour():
    assert len({one.dash for one in MARGIN_CLASSES}) == len(MARGIN_CLASSES)


def test_the_picture_has_the_shape_of_the_level_and_only_our_colours(tour, owner):
    response = signed_in(owner).get(f"/venues/{tour.venue.pk}/coverage.png")
    assert response["Content-Type"] == "image/png"
    pixels = _picture(response.content)
    assert pixels.shape == (480, 960, 3)  # 40 x 20 m in cells of 0.5 m, 12 pixels each
    seen = {tuple(int(part) for part in colour) for colour in np.unique(pixels.reshape(-1, 3), axis=0)}
    assert seen <= {_rgb(colour) for colour in (*CIVIDIS, HATCH_COLOUR)}
    assert len(seen) > 1


def test_up_the_plan_is_up_in_the_picture(tour):
    """N0 stands at (2, 18) m, top left: there it is served best, and worst behind two walls at the bottom right."""
    planned = plan_venue(tour.venue)
    pixels = _picture(coverage_png(level_coverage(planned, "Hall", "Show", "N0"), 40.0, 20.0))
    assert tuple(pixels[24, 24]) == _rgb(CIVIDIS[-1])
    assert tuple(pixels[-1, -6]) != _rgb(CIVIDIS[-1])


def test_not_served_is_hatched_and_no_other_class_is(tour):
    planned = plan_venue(tour.venue)
    found = level_coverage(planned, "Hall", "Show")
    shape = found.margin_db.shape
    for margin_db, colours in ((-5.0, {CIVIDIS[0], HATCH_COLOUR}), (5.0, {CIVIDIS[2]})):
        flat = replace(found, margin_db=np.full(shape, margin_db, dtype=np.float32))
        pixels = _picture(coverage_png(flat, 40.0, 20.0)).reshape(-1, 3)
        assert {tuple(int(p) for p in colour) for colour in np.unique(pixels, axis=0)} == {_rgb(c) for c in colours}


def test_a_cell_cut_off_by_the_edge_is_cut_off_in_the_picture(tour):
    found = level_coverage(plan_venue(tour.venue), "Hall", "Show")
    assert _picture(coverage_png(found, 39.75, 19.75)).shape == (474, 954, 3)


def test_shares_are_of_the_whole_level_and_agree_with_the_planner(tour):
    found = level_coverage(plan_venue(tour.venue), "Hall", "Show", "N0")
    shares = class_shares(found)
    assert sum(shares.values()) == pytest.approx(1.0)
    assert 1.0 - shares["none"] == pytest.approx(found.share_served())


def test_one_sender_covers_less_than_all(tour):
    planned = plan_venue(tour.venue)
    one, everyone = (level_coverage(planned, "Hall", "Show", sender) for sender in ("N1", None))
    assert one.transmitters == ("N1",)
    assert (everyone.best_margin_db() >= one.best_margin_db()).all()


def test_the_same_picture_is_not_sent_twice(tour, owner):
    client, address = signed_in(owner), f"/venues/{tour.venue.pk}/coverage.png"
    first = client.get(address)
    again = client.get(address, headers={"If-None-Match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    other = client.get(address, {"sender": "N1"}, headers={"If-None-Match": first["ETag"]})
    assert other.status_code == 200
