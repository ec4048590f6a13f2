"""The failure view against routes worked out anew on the graph without what failed."""

import dataclasses
import itertools

import pytest
from hypothesis import given, settings

from showplan.planner.failures import failure_view
from showplan.planner.links import network_links
from showplan.planner.routes import best_routes, link_graph
from showplan.planner.scene import Scene
from tests.scenes import hall, node, scenes

A_MILLIONTH = 1e-6


def _links(scene: Scene):
    links = network_links(scene, scene.networks[0])
    assert links is not None
    return links


def _deliveries(graph) -> dict[str, float]:
    """What the product's own routes give, by networkx on the graph as it is."""
    return {label: route.delivery for label, route in best_routes(graph).items()}


@settings(max_examples=40, deadline=None)
@given(scenes())
def test_each_loss_is_what_a_new_search_without_it_finds(scene: Scene) -> None:
    links = _links(scene)
    graph = link_graph(links)
    well = _deliveries(graph)
    view = failure_view(links)
    assert view.reached == len(well)
    assert {one.lost[0] for one in view.nodes} == {
        label for label, role in zip(links.labels, links.roles, strict=True) if role != "receiver"
    }
    for one in (*view.nodes, *view.links):
        cut = graph.copy()
        if one.kind == "node":
            cut.remove_node(one.lost[0])
        else:
            cut.remove_edges_from([one.lost, one.lost[::-1]])
        _same(one, well, _deliveries(cut), set(one.lost) if one.kind == "node" else set())


def _same(failure, well, now, gone) -> None:
    others = set(well) - gone
    assert set(failure.dark) == others - set(now)
    for weaker in failure.weakened:
        assert weaker.before == pytest.approx(well[weaker.node], abs=A_MILLIONTH)
        assert weaker.after == pytest.approx(now[weaker.node], abs=A_MILLIONTH)
    harm = sum(well[label] - now.get(label, 0.0) for label in others)
    assert failure.lost_delivery == pytest.approx(harm, abs=A_MILLIONTH)
    if heard := others & set(now):
        assert failure.worst_delivery == pytest.approx(min(now[label] for label in heard), abs=A_MILLIONTH)


@settings(max_examples=30, deadline=None)
@given(scenes())
def test_no_pair_of_relays_hurts_more_than_the_worst(scene: Scene) -> None:
    links = _links(scene)
    graph = link_graph(links)
    well = _deliveries(graph)
    relays = [label for label, role in zip(links.labels, links.roles, strict=True) if role == "relay"]
    harms = []
    for pair in itertools.combinations(relays, 2):
        cut = graph.copy()
        cut.remove_nodes_from(pair)
        now = _deliveries(cut)
        harms.append(sum(well[label] - now.get(label, 0.0) for label in set(well) - set(pair)))
    worst = failure_view(links).worst_pair
    assert (worst.lost_delivery if worst else 0.0) == pytest.approx(max(harms, default=0.0), abs=A_MILLIONTH)


def test_a_spare_gateway_is_a_second_root() -> None:
    scene = hall()
    view = failure_view(_links(scene))
    assert view.nodes[0].lost == ("G1",)
    assert set(view.nodes[0].dark) == {"R1", "A1", "A2", "A3"}
    spare = dataclasses.replace(scene, nodes=(*scene.nodes, node("G2", "gateway", 9, 6.0, 18.0)))
    assert failure_view(_links(spare)).nodes[0].dark == ()


def test_without_a_gateway_nothing_is_reached() -> None:
    scene = hall(nodes=tuple(n for n in hall().nodes if n.role != "gateway"))
    view = failure_view(_links(scene))
    assert (view.reached, view.worst_delivery, view.worst_pair) == (0, 0.0, None)
