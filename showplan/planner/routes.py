"""The network as a graph: usable links, the best route to each node, and what the show depends on.

The feed is one more vertex, joined to every gateway; so several gateways share the work and stand in for each other.
Receivers have no outgoing links: nothing can be routed through them.
"""

import itertools
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import networkx as nx
import numpy as np

from showplan.planner.links import NetworkLinks, keeps_margin

FEED = ("feed",)  # a tuple, so that no node's label can be taken for it
# Costs as much as 0.1 % of lost frames: a relay must earn at least that before it is preferred to a direct link.
HOP_COST = 0.001
LEAST_DELIVERY = 1e-9  # keeps the logarithm finite


@dataclass(frozen=True)
class Route:
    """The way from a gateway to a node: `nodes` from gateway to node; `margin_db` is that of its weakest link.

    `delivery` is the probability that a packet sent once on each link arrives.
    """

    nodes: tuple[str, ...]
    margin_db: float
    delivery: float

    @property
    def hops(self) -> int:
        """Number of radio links on the way."""
        return len(self.nodes) - 1


@dataclass(frozen=True)
class SinglePoint:
    """A node, or a link (transmitter, receiver), whose loss leaves `dark` nodes without any route."""

    lost: tuple[str, ...]
    dark: tuple[str, ...]

    @property
    def is_link(self) -> bool:
        """Whether a link is lost rather than a node."""
        return len(self.lost) == 2


def link_graph(links: NetworkLinks) -> nx.DiGraph:
    """Directed graph of the usable links out of gateways and relays, and the feed.

    Node attribute `role`; edge attributes `margin_db`, `delivery` and `cost`: minus the logarithm of the delivery
    (the costs of a route add up to the delivery of the whole), plus HOP_COST.
    """
    graph = nx.DiGraph()
    graph.add_node(FEED, role="feed")
    for label, role in zip(links.labels, links.roles, strict=True):
        graph.add_node(label, role=role)
        if role == "gateway":
            graph.add_edge(FEED, label, margin_db=math.inf, delivery=1.0, cost=0.0)
    sends = np.array([role != "receiver" for role in links.roles], dtype=np.bool_)
    rows, columns = np.nonzero(keeps_margin(links.margin_db) & sends[:, None])
    margins_db, deliveries = (matrix[rows, columns].tolist() for matrix in (links.margin_db, links.delivery))
    graph.add_edges_from(
        (
            links.labels[i],
            links.labels[j],
            {"margin_db": margin_db, "delivery": delivery, "cost": HOP_COST - math.log(max(delivery, LEAST_DELIVERY))},
        )
        for i, j, margin_db, delivery in zip(rows.tolist(), columns.tolist(), margins_db, deliveries, strict=True)
    )
    return graph


def best_routes(graph: nx.DiGraph) -> dict[str, Route]:
    """The most probable route to every node that has one, by label; gateways have a route of no hops."""
    paths: Mapping[object, list[str]] = nx.single_source_dijkstra_path(graph, FEED, weight="cost")
    return {path[-1]: _route(graph, path) for path in paths.values() if len(path) > 1}


def _route(graph: nx.DiGraph, path: list[str]) -> Route:
    links = [graph[a][b] for a, b in itertools.pairwise(path)]
    return Route(
        tuple(path[1:]), min(link["margin_db"] for link in links), math.prod(link["delivery"] for link in links)
    )


def single_points_of_failure(graph: nx.DiGraph, feed: object = FEED) -> tuple[SinglePoint, ...]:
    """Every node and link that all routes of some other node go through, with the nodes that would go dark.

    One dominator tree answers for nodes and links at once. What a vertex strictly dominates goes dark with it. A link
    a to b is needed by b, and by what b dominates, where every other link into b starts below b: such a start is only
    reached through b itself. In a graph whose links all work both ways these are its articulation points and bridges,
    seen from the feed. Links out of the feed (wires to the gateways) do not count.
    """
    above = {vertex: over for vertex, over in nx.immediate_dominators(graph, feed).items() if vertex != feed}
    below: dict[object, set[object]] = {vertex: {vertex} for vertex in above}
    for vertex in above:
        over = above[vertex]
        while over != feed:
            below[over].add(vertex)
            over = above[over]
    points = []
    for vertex, own in below.items():
        if len(own) > 1:
            points.append(SinglePoint((str(vertex),), tuple(sorted(str(v) for v in own if v != vertex))))
        over = above[vertex]
        others = (start for start in graph.predecessors(vertex) if start != over and start in above)
        if over != feed and graph.has_edge(over, vertex) and own.issuperset(others):
            points.append(SinglePoint((str(over), str(vertex)), tuple(sorted(map(str, own)))))
    return tuple(sorted(points, key=lambda point: (point.is_link, -len(point.dark), point.lost)))


def unreached(graph: nx.DiGraph, routes: Iterable[str]) -> list[str]:
    """Labels of the nodes that no route reaches, in order."""
    return sorted(set(graph) - set(routes) - {FEED}, key=str)
