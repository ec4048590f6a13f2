"""The network as a graph: usable links, the best route to each node, and what the show depends on.

The feed is one more vertex, joined to every gateway; so several gateways share the work and stand in for each other.
Receivers have no outgoing links: nothing can be routed through them.
"""

import itertools
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import networkx as nx

from showplan.planner.links import NetworkLinks

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
    roles = dict(zip(links.labels, links.roles, strict=True))
    for label, role in roles.items():
        graph.add_node(label, role=role)
        if role == "gateway":
            graph.add_edge(FEED, label, margin_db=math.inf, delivery=1.0, cost=0.0)
    for link in links:
        if link.is_usable and roles[link.transmitter] != "receiver":
            cost = HOP_COST - math.log(max(link.delivery, LEAST_DELIVERY))
            graph.add_edge(link.transmitter, link.receiver, margin_db=link.margin_db, delivery=link.delivery, cost=cost)
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

    One dominator tree answers for nodes and links at once: each link is split by a vertex of its own, and what a
    vertex strictly dominates goes dark with it. In a graph whose links all work both ways these are its
    articulation points and bridges, seen from the feed. Links out of the feed (wires to the gateways) do not count.
    """
    split = nx.DiGraph()
    split.add_nodes_from(graph)
    for a, b in graph.edges:
        split.add_edge(a, _Hop(a, b))
        split.add_edge(_Hop(a, b), b)
    dominated_by = nx.immediate_dominators(split, feed)
    below = nx.DiGraph((above, vertex) for vertex, above in dominated_by.items() if above is not None)
    points = []
    for vertex in below:
        dark = sorted(str(v) for v in nx.descendants(below, vertex) - {vertex} if not isinstance(v, _Hop))
        if dark and vertex != feed:
            if not isinstance(vertex, _Hop):
                points.append(SinglePoint((str(vertex),), tuple(dark)))
            elif vertex.start != feed:
                points.append(SinglePoint((str(vertex.start), str(vertex.end)), tuple(dark)))
    return tuple(sorted(points, key=lambda point: (point.is_link, -len(point.dark), point.lost)))


def unreached(graph: nx.DiGraph, routes: Iterable[str]) -> list[str]:
    """Labels of the nodes that no route reaches, in order."""
    return sorted(set(graph) - set(routes) - {FEED}, key=str)


@dataclass(frozen=True)
class _Hop:
    start: object
    end: object
