"""Single points of failure on graphs whose answer is published."""

import networkx as nx
import pytest

from showplan.planner.routes import FEED, single_points_of_failure

# (graph, where the feed comes in, articulation nodes other than that, bridges, source)
PUBLISHED = [
    pytest.param(
        nx.krackhardt_kite_graph(),
        0,
        {7, 8},
        {frozenset((7, 8)), frozenset((8, 9))},
        id="Krackhardt 1990, 'Assessing the political landscape', Administrative Science Quarterly 35: the kite,"
        " whose tail hangs on two people in a row",
    ),
    pytest.param(
        nx.karate_club_graph(),
        33,
        {0},
        {frozenset((0, 11))},
        id="Zachary 1977, Journal of Anthropological Research 33: member 12 knows the instructor (member 1) only",
    ),
    pytest.param(
        nx.barbell_graph(10, 0),
        0,
        {9, 10},
        {frozenset((9, 10))},
        id="networkx documentation of bridges: the barbell graph with parameter zero has a single bridge (9, 10)",
    ),
]


@pytest.mark.parametrize(("graph", "root", "nodes", "links"), PUBLISHED)
def test_articulation_nodes_and_bridges(graph: nx.Graph, root: int, nodes: set, links: set) -> None:
    directed = nx.DiGraph(nx.relabel_nodes(graph, str).to_directed())
    directed.add_edge(FEED, str(root))
    points = single_points_of_failure(directed)
    assert {point.lost[0] for point in points if not point.is_link} - {str(root)} == {str(node) for node in nodes}
    assert {frozenset(point.lost) for point in points if point.is_link} == {
        frozenset(str(end) for end in link) for link in links
    }


def test_the_textbook_chain_of_blocks() -> None:
    """Two triangles joined by a path: each vertex of the path and each joint is an articulation node.

    Source: the definitions in Hopcroft and Tarjan 1973, "Algorithm 447", Communications of the ACM 16 (from memory);
    the answer follows from them by inspection.
    """
    graph = nx.Graph([("a", "b"), ("b", "c"), ("c", "a"), ("c", "d"), ("d", "e"), ("e", "f"), ("f", "g"), ("g", "e")])
    directed = graph.to_directed()
    directed.add_edge(FEED, "a")
    points = {point.lost: set(point.dark) for point in single_points_of_failure(directed)}
    assert points == {
        ("a",): {"b", "c", "d", "e", "f", "g"},
        ("c",): {"d", "e", "f", "g"},
        ("d",): {"e", "f", "g"},
        ("e",): {"f", "g"},
        ("c", "d"): {"d", "e", "f", "g"},
        ("d", "e"): {"e", "f", "g"},
    }
