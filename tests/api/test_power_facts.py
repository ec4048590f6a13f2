"""The show day and the facts on power through the API: lists, choices and what is refused, with its place."""

import pytest

from showplan.services.nouns import by_path
from tests.api.bodies import Given, new_body
from tests.api.client import ApiClient, made, pointers

pytestmark = pytest.mark.django_db
LOADS, PARTS, LEVELS = (by_path()[path] for path in ("loads", "show-parts", "part-levels"))


def test_faults_of_power_facts_name_their_field(given: Given, editor_api: ApiClient) -> None:
    loads = given.collection(LOADS)
    tape = {**new_body(LOADS, given, 1), "kind": "tape", "length_m": 2, "feeding": "points"}
    for wrong, pointer in (
        ({"feed_points_m": []}, "/feed_points_m"),
        ({"feed_points_m": [0.5, 3]}, "/feed_points_m"),
        ({"feed_points_m": [0.5, "1"]}, "/feed_points_m/1"),
        ({"feed_points_m": 0.5}, "/feed_points_m"),
        ({"feed_points_m": [0.5], "behaviour": "moody"}, "/behaviour"),
        ({"feed_points_m": [0.5], "preset": "reel"}, "/preset"),
        ({"feed_points_m": [0.5], "fuse_v": 32}, "/fuse_v"),
    ):
        assert pointers(editor_api.post(loads, {**tape, **wrong})) == [pointer], wrong
    load = made(editor_api.post(loads, {**tape, "feed_points_m": [0.5, 1.5], "behaviour": ""}))
    assert (load["feed_points_m"], load["behaviour"], load["preset"]) == ([0.5, 1.5], "", "")


def test_a_gap_is_dark(given: Given, editor_api: ApiClient) -> None:
    parts = given.collection(PARTS)
    gap = {**new_body(PARTS, given, 1), "kind": "gap"}
    assert pointers(editor_api.post(parts, {**gap, "level": 0.5})) == ["/level"]
    made(editor_api.post(parts, gap))
    lit = made(editor_api.post(given.collection(LEVELS), new_body(LEVELS, given, 2)))
    refused = editor_api.patch(f"{parts}{lit['part']}/", {"kind": "gap"}, 1)
    assert refused.status_code == 422, refused.content
    assert "cannot become a gap" in str(refused.json())
