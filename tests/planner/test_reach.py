"""Reach from many possible senders: the same numbers as the links between nodes that are placed."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings

from showplan.planner.links import network_links
from showplan.planner.reach import reach
from showplan.planner.scene import Scene
from tests.scenes import hall, scenes, with_all_node_types

A_BILLIONTH = 1e-9


def _agrees(scene: Scene) -> None:
    links = network_links(scene, scene.networks[0])
    senders = [node for node in scene.nodes if node.role != "receiver"]
    found = reach(scene, "oqpsk-2450", links.frequency_mhz, "empty", senders, scene.nodes)
    rows = [links.labels.index(node.label) for node in senders]
    for ours, theirs in ((found.margin_db, links.margin_db), (found.delivery, links.delivery)):
        known = ~np.isnan(theirs[rows])
        np.testing.assert_allclose(ours[known], theirs[rows][known], rtol=0, atol=A_BILLIONTH)
        assert known.sum() == len(senders) * (len(scene.nodes) - 1)


@settings(max_examples=40, deadline=None)
@given(scenes())
def test_the_same_as_the_links_of_placed_nodes(scene: Scene) -> None:
    _agrees(scene)


@pytest.mark.parametrize("pattern", ["dipole", "patch"])
def test_worn_nodes_in_a_zone_and_antennas_with_a_pattern(pattern: str) -> None:
    _agrees(with_all_node_types(hall(), antenna_pattern=pattern))


def test_both_ways_is_the_worse_of_the_two() -> None:
    weak = dataclasses.replace(hall().node_types[0], name="Weak", transmit_power_dbm=-9.0)
    scene = hall(node_types=(*hall().node_types, weak))
    scene = dataclasses.replace(
        scene, nodes=tuple(dataclasses.replace(n, node_type="Weak") if n.label == "A2" else n for n in scene.nodes)
    )
    senders = [node for node in scene.nodes if node.role == "relay"]
    far = [node for node in scene.nodes if node.label == "A2"]
    one = reach(scene, "oqpsk-2450", 2475.0, "empty", senders, far)
    both = reach(scene, "oqpsk-2450", 2475.0, "empty", senders, far, both_ways=True)
    assert both.margin_db[0, 0] == pytest.approx(one.margin_db[0, 0] - 12.0)
    assert both.delivery[0, 0] < one.delivery[0, 0]


def test_a_sender_needs_a_fixed_point() -> None:
    scene = hall()
    with pytest.raises(ValueError, match="'A3' has no fixed point"):
        reach(scene, "oqpsk-2450", 2475.0, "empty", scene.nodes, scene.nodes)


def test_nobody_reaches_nobody() -> None:
    assert reach(hall(), "oqpsk-2450", 2475.0, "empty", [], hall().nodes).delivery.shape == (0, 5)
