"""Coverage of a level: shape, the best server, and what is refused."""

import dataclasses

import numpy as np
import pytest

from showplan.planner.coverage import CoverageError, _served_by, coverage
from showplan.planner.links import network_links
from showplan.planner.scene import Placement
from tests.scenes import HALL, hall, node

A_HUNDREDTH_DB = 0.01


def test_shape_and_senders() -> None:
    scene = hall()
    found = coverage(scene, scene.networks[0], HALL, step_m=1.0)
    assert found.margin_db.shape == (2, 20, 40)
    assert found.transmitters == ("G1", "R1")
    assert found.best_margin_db().shape == (20, 40)
    only = coverage(scene, scene.networks[0], HALL, step_m=1.0, only="R1")
    np.testing.assert_array_equal(only.margin_db[0], found.margin_db[1])


def test_a_cell_agrees_with_the_link_to_a_node_in_its_centre() -> None:
    scene = hall()
    found = coverage(scene, scene.networks[0], HALL, step_m=1.0, height_m=1.5)
    place = Placement(level=HALL, position_m=(found.x_m[30], found.y_m[4]), height_m=1.5)
    nodes = tuple(dataclasses.replace(n, placement=place) if n.label == "A2" else n for n in scene.nodes)
    links = network_links(dataclasses.replace(scene, nodes=nodes), scene.networks[0])
    assert links is not None
    for index, sender in enumerate(found.transmitters):
        margin_db = links.link(sender, "A2").margin_db
        assert found.margin_db[index, 4, 30] == pytest.approx(margin_db, abs=A_HUNDREDTH_DB)


def test_the_second_best_server_is_the_second_of_the_sorted() -> None:
    scene = hall(nodes=(*hall().nodes, node("R2", "relay", 9, 30.0, 6.0)))
    found = coverage(scene, scene.networks[0], HALL, step_m=1.0)
    np.testing.assert_array_equal(found.second_margin_db(), np.sort(found.margin_db, axis=0)[-2])
    only = coverage(scene, scene.networks[0], HALL, step_m=1.0, only="R1")
    assert np.isneginf(only.second_margin_db()).all()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"step_m": 0.0}, "must be at least"),
        ({"step_m": -1.0}, "must be at least"),
        ({"step_m": 0.001}, "must be at least"),
        ({"height_m": 7.0}, "must be from 0 to 6"),
        ({"height_m": -0.1}, "must be from 0 to 6"),
        ({"only": "A1"}, "no gateway or relay"),
    ],
)
def test_what_cannot_be_computed_is_told(options: dict, words: str) -> None:
    scene = hall()
    with pytest.raises(CoverageError, match=words):
        coverage(scene, scene.networks[0], HALL, **options)


def test_after_a_move_only_the_moved_senders_cells_are_worked_out_again() -> None:
    scene = hall(nodes=(*hall().nodes, node("R2", "relay", 9, 30.0, 6.0)))
    network = scene.networks[0]
    coverage(scene, network, HALL, step_m=1.0)
    moved = dataclasses.replace(
        scene, nodes=tuple(node("R2", "relay", 9, 33.0, 6.0) if n.label == "R2" else n for n in scene.nodes)
    )
    before = _served_by.cache_info().misses
    found = coverage(moved, network, HALL, step_m=1.0)
    assert _served_by.cache_info().misses == before + 1
    _served_by.cache_clear()
    anew = coverage(moved, network, HALL, step_m=1.0)
    np.testing.assert_array_equal(found.margin_db, anew.margin_db)
    np.testing.assert_array_equal(found.delivery, anew.delivery)


def test_what_lies_between_counts_as_moved() -> None:
    scene = hall()
    first = coverage(scene, scene.networks[0], HALL, step_m=1.0)
    bare = dataclasses.replace(scene, walls=())
    assert (coverage(bare, bare.networks[0], HALL, step_m=1.0).margin_db != first.margin_db).any()
