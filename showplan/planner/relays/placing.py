"""A set of posts in the words of the answer: what it costs, what each node gets."""

import numpy as np

from showplan.planner.relays.answer import RelayPlacement
from showplan.planner.relays.delivery import best_routes
from showplan.planner.relays.disjoint import chosen_graph, disjoint_routes
from showplan.planner.relays.posts import Posts, members
from showplan.planner.relays.problem import Booleans


def describe(posts: Posts, chosen: Booleans) -> RelayPlacement:
    """The placement of a set; every number is worked out from the matrices again."""
    problem = posts.problem
    delivery, ways = best_routes(posts, chosen)
    graph = None if posts.parts else chosen_graph(posts, chosen)
    pairs = []
    for node, wanted in enumerate(problem.routes):
        part, at = posts.part_of(node)
        pair = disjoint_routes(part, chosen, at, graph) if wanted == 2 else None
        pairs.append(tuple(way[1:] for way in pair) if pair else ())
    return RelayPlacement(
        sites=members(chosen[: posts.n]),
        gateways=members(chosen[posts.n :]),
        cost=float(problem.cost[chosen[: posts.n]].sum()),
        worst_delivery=float(delivery.min()),
        air_s=air_s(posts, chosen),
        routes=tuple(way[1:] for way in ways),
        route_gateways=tuple(way[0] - posts.n if way else -1 for way in ways),
        disjoint_routes=tuple(pairs),
    )


def air_s(posts: Posts, chosen: Booleans) -> float:
    """Air time of one frame in s; without a limit in the problem routed, with packets of 1 s."""
    air = posts.problem.air
    if air is not None and air.kind == "repeated":
        return float(chosen.sum()) * air.packet_s
    hops = posts.hops(chosen).astype(np.float64)
    return float(hops.sum()) * (air.packet_s if air is not None else 1.0)
