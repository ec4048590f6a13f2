"""Routes and single points of failure, against networkx on random graphs."""

import networkx as nx
import pytest

from showplan.planner.readiness import plan
from showplan.planner.routes import FEED, best_routes, link_graph, single_points_of_failure
from tests.scenes import hall, node, with_all_node_types


def both_ways(graph: nx.Graph, root: object) -> nx.DiGraph:
    """The graph with every edge in both directions and the feed joined to `root`."""
    directed = graph.to_directed()
    directed.add_edge(FEED, root)
    return directed


@pytest.mark.parametrize("seed", range(40))
def test_agrees_with_articulation_points_and_bridges(seed: int) -> None:
    graph = nx.gnm_random_graph(14, 17, seed=seed)
    graph = graph.subgraph(nx.node_connected_component(graph, 0))
    points = single_points_of_failure(both_ways(nx.relabel_nodes(graph, str), "0"))
    nodes = {point.lost[0] for point in points if not point.is_link}
    links = {frozenset(point.lost) for point in points if point.is_link}
    assert nodes - {"0"} == {str(n) for n in nx.articulation_points(graph)} - {"0"}
    assert links == {frozenset(map(str, edge)) for edge in nx.bridges(graph)}


@pytest.mark.parametrize("seed", range(10))
def test_what_is_said_to_go_dark_does_go_dark(seed: int) -> None:
    graph = both_ways(nx.relabel_nodes(nx.gnm_random_graph(12, 15, seed=seed), str), "0")
    lit = nx.descendants(graph, FEED)
    for point in single_points_of_failure(graph):
        broken = graph.copy()
        if point.is_link:
            broken.remove_edge(*point.lost)
        else:
            broken.remove_node(point.lost[0])
        assert set(point.dark) == lit - nx.descendants(broken, FEED) - set(point.lost if not point.is_link else ())


@pytest.mark.parametrize("seed", range(60))
def test_single_points_are_all_whose_removal_darkens_others_on_one_way_links(seed: int) -> None:
    graph = nx.relabel_nodes(nx.gnm_random_graph(9, 16, seed=seed, directed=True), str)
    graph.add_edges_from((FEED, gateway) for gateway in ("0", "1")[: 1 + seed % 2])
    lit = nx.descendants(graph, FEED)
    expected: dict[tuple[str, ...], set[str]] = {}
    for label in lit:
        expected[(label,)] = lit - nx.descendants(nx.restricted_view(graph, [label], []), FEED) - {label}
    for a, b in graph.edges:
        if a in lit:
            expected[a, b] = lit - nx.descendants(nx.restricted_view(graph, [], [(a, b)]), FEED)
    found = {point.lost: set(point.dark) for point in single_points_of_failure(graph)}
    assert found == {lost: dark for lost, dark in expected.items() if dark}


def test_nothing_is_routed_through_a_receiver() -> None:
    scene = hall(
        nodes=(
            node("G1", "gateway", 0, 1.0, 18.0),
            node("A1", "receiver", 1, 13.0, 18.0),
            node("A2", "receiver", 2, 25.0, 18.0),
        )
    )
    scene = with_all_node_types(scene, sensitivity_dbm=-73.0)
    routes = plan(scene).analysis.routes["Show"]
    assert set(routes) == {"G1", "A1"}
    findings = {f.subject.name: f for f in plan(scene).findings if f.code == "node-not-heard"}
    assert set(findings) == {"A2"}
    assert "from G1" in findings["A2"].sentence


def test_the_same_three_with_a_relay_in_the_middle() -> None:
    scene = hall(
        nodes=(
            node("G1", "gateway", 0, 1.0, 18.0),
            node("R1", "relay", 1, 13.0, 18.0),
            node("A2", "receiver", 2, 25.0, 18.0),
        )
    )
    made = plan(with_all_node_types(scene, sensitivity_dbm=-73.0))
    route = made.route_to("A2")
    assert route is not None
    assert (route.nodes, route.hops) == (("G1", "R1", "A2"), 2)
    assert {f.code for f in made.findings} >= {"single-relay", "single-gateway"}


def test_two_gateways_stand_in_for_each_other() -> None:
    scene = hall(
        nodes=(
            node("G1", "gateway", 0, 1.0, 18.0),
            node("G2", "gateway", 1, 9.0, 18.0),
            node("A1", "receiver", 2, 5.0, 17.0),
        )
    )
    assert not plan(scene).analysis.single_points["Show"]


def test_an_empty_network_is_no_error() -> None:
    made = plan(hall(nodes=(), loads=(), readings=()))
    assert made.analysis.routes["Show"] == {}
    assert [f.code for f in made.findings] == ["nothing-to-feed", "readings-wanted"]


def test_a_direct_link_is_preferred_to_a_relay_that_gains_nothing() -> None:
    analysis = plan(hall()).analysis
    graph = link_graph(analysis.links["Show"])
    assert best_routes(graph)["A1"].nodes == ("G1", "A1")
