"""What must hold for every venue, whatever its walls and nodes."""

import dataclasses

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from showplan.planner.coverage import coverage
from showplan.planner.links import network_links
from showplan.planner.readiness import plan
from showplan.planner.scene import Scene, Wall
from showplan.planner.scene_file import fingerprint, in_order, read, write
from tests.scenes import HALL, scenes, walls, with_all_node_types

A_BILLIONTH_DB = 1e-9
few = settings(max_examples=60, deadline=None)


def best_margins(scene: Scene) -> np.ndarray:
    return coverage(scene, scene.networks[0], HALL, step_m=2.0).best_margin_db()


@few
@given(scenes(), st.floats(0.1, 20))
def test_coverage_grows_with_power(scene: Scene, more_db: float) -> None:
    louder = with_all_node_types(scene, transmit_power_dbm=scene.node_types[0].transmit_power_dbm + more_db)
    np.testing.assert_allclose(best_margins(louder) - best_margins(scene), more_db, atol=1e-4)
    assert coverage(louder, louder.networks[0], HALL, step_m=2.0).share_served() >= (
        coverage(scene, scene.networks[0], HALL, step_m=2.0).share_served()
    )


@few
@given(scenes(), walls())
def test_a_wall_never_helps(scene: Scene, wall: Wall) -> None:
    walled = dataclasses.replace(scene, walls=(*scene.walls, wall))
    assert (best_margins(walled) <= best_margins(scene) + A_BILLIONTH_DB).all()
    reached, still_reached = plan(scene).analysis.routes["Show"], plan(walled).analysis.routes["Show"]
    assert set(still_reached) <= set(reached)


@few
@given(scenes())
def test_links_have_the_same_loss_both_ways(scene: Scene) -> None:
    links = network_links(scene, scene.networks[0])
    assert links is not None
    np.testing.assert_allclose(links.path_loss_db, links.path_loss_db.T, rtol=0, atol=A_BILLIONTH_DB)


@few
@given(scenes(), st.randoms(use_true_random=False))
def test_relabelling_nodes_changes_nothing(scene: Scene, random) -> None:
    labels = [node.label for node in scene.nodes]
    new = dict(zip(labels, random.sample([f"Z{i}" for i in range(99)], len(labels)), strict=True))
    renamed = dataclasses.replace(
        scene, nodes=tuple(dataclasses.replace(node, label=new[node.label]) for node in scene.nodes)
    )
    before, after = plan(scene), plan(renamed)
    routes, new_routes = before.analysis.routes["Show"], after.analysis.routes["Show"]
    assert {new[label] for label in routes} == set(new_routes)
    points = {(point.is_link, frozenset(new[n] for n in point.lost)) for point in before.analysis.single_points["Show"]}
    assert points == {(point.is_link, frozenset(point.lost)) for point in after.analysis.single_points["Show"]}
    assert sorted(f.code for f in before.findings) == sorted(f.code for f in after.findings)


@few
@given(scenes())
def test_a_relay_never_hurts_reach(scene: Scene) -> None:
    without = [node for node in scene.nodes if node.role != "relay"]
    fewer = dataclasses.replace(scene, nodes=tuple(without))
    reached = set(plan(fewer).analysis.routes["Show"])
    assert reached <= set(plan(scene).analysis.routes["Show"])


@few
@given(scenes(), st.randoms(use_true_random=False))
def test_fingerprint_does_not_depend_on_the_order_of_entry(scene: Scene, random) -> None:
    shuffled = dataclasses.replace(
        scene,
        nodes=tuple(random.sample(scene.nodes, len(scene.nodes))),
        walls=tuple(random.sample(scene.walls, len(scene.walls))),
    )
    assert fingerprint(shuffled) == fingerprint(scene)
    assert in_order(shuffled) == in_order(scene)


@few
@given(scenes())
def test_a_scene_survives_its_file(scene: Scene) -> None:
    again = read(write(scene))
    assert again == in_order(scene)
    assert fingerprint(again) == fingerprint(scene)
