"""A relay answer in the words of the venue: names, places and deliveries instead of indices, as JSON values."""

import math
from itertools import pairwise
from typing import Any

from showplan.planner.relays.answer import MostServed, Reason, RelayAnswer, RelayPlacement
from showplan.planner.relays.from_scene import RelayTask
from showplan.planner.relays.sites import Site


def answer_values(task: RelayTask, answer: RelayAnswer) -> dict[str, Any]:
    """The whole answer; `placements` holds the best first, then those materially different of the same cost."""
    placements = (answer.placement, *answer.alternatives) if answer.placement else ()
    return {
        "network": task.wishes.network,
        "relay_type": task.wishes.relay_type,
        "state": answer.state,
        "bound": _finite(answer.bound),
        "gap": _finite(answer.gap),
        "proven": dict(zip(("cost", "delivery", "air"), answer.stages_proven, strict=True)),
        "placements": [placement_values(task, one) for one in placements],
        "trade": [
            {
                "relays_allowed": point.relays_allowed,
                "worst_delivery": point.worst_delivery,
                "is_proven": point.is_proven,
                "relays": [task.sites[index].name for index in point.placement.sites],
            }
            for point in answer.trade
        ],
        "reasons": [_reason_values(task, reason) for reason in answer.reasons],
        "most_served": _most_served_values(task, answer.most_served) if answer.most_served else None,
        "sites": len(task.sites),
        "nodes": len(task.nodes),
    }


def _most_served_values(task: RelayTask, most: MostServed) -> dict[str, Any]:
    """What too few relays can do; `bound` nodes are served at most, whichever sites are taken."""
    left_out = sorted(set(range(len(task.nodes))) - set(most.nodes))
    return {
        "relays_allowed": most.relays_allowed,
        "relays": [_site_values(task.sites[index]) for index in most.sites],
        "gateways": _gateway_values(task, most.gateways),
        "served": len(most.nodes),
        "bound": most.bound,
        "is_proven": most.is_proven,
        "left_out": [task.nodes[index].label for index in left_out],
    }


def _finite(value: float) -> float | None:
    """None for what has no number in JSON: the bound where there is no placement."""
    return value if math.isfinite(value) else None


def placement_values(task: RelayTask, placement: RelayPlacement) -> dict[str, Any]:
    """One placement: where relays and gateways stand, and how each node is reached."""
    routes = [_route_values(task, placement, index) for index in range(len(task.nodes))]
    return {
        "relays": [_site_values(task.sites[index]) for index in placement.sites],
        "gateways": _gateway_values(task, placement.gateways),
        "cost": placement.cost,
        "worst_delivery": placement.worst_delivery,
        "air_ms": placement.air_s * 1000 if task.problem.air else None,
        "routes": routes,
    }


def _site_values(site: Site) -> dict[str, Any]:
    x_m, y_m = site.position_m
    return {
        "site": site.name,
        "level": site.level,
        "x_m": x_m,
        "y_m": y_m,
        "height_m": site.height_m,
        "has_mains": site.has_mains,
        "cost": site.cost,
    }


def _gateway_values(task: RelayTask, gateways: tuple[int, ...]) -> list[dict[str, Any]]:
    if task.gateway_sites:
        return [_site_values(task.gateway_sites[index]) for index in gateways]
    return [{"node": task.gateways[index].label} for index in gateways]


def _route_values(task: RelayTask, placement: RelayPlacement, node: int) -> dict[str, Any]:
    through, gateway = placement.routes[node], placement.route_gateways[node]
    pair = placement.disjoint_routes[node] if placement.disjoint_routes else ()
    return {
        "node": task.nodes[node].label,
        "gateway": task.problem.gateway_names[gateway],
        "through": [task.sites[index].name for index in through],
        "hops": len(through) + 1,
        "delivery": _delivery(task, gateway, through, node),
        "disjoint": [[task.sites[index].name for index in route] for route in pair],
    }


def _delivery(task: RelayTask, gateway: int, through: tuple[int, ...], node: int) -> float:
    problem = task.problem
    if not through:
        return float(problem.gateway_to_node[gateway, node])
    delivery = problem.gateway_to_site[gateway, through[0]] * problem.site_to_node[through[-1], node]
    for one, other in pairwise(through):
        delivery *= problem.site_to_site[one, other]
    return float(delivery)


def _reason_values(task: RelayTask, reason: Reason) -> dict[str, Any]:
    return {
        "code": reason.code,
        "sentence": reason.sentence,
        "limit": reason.limit,
        "smallest": reason.smallest,
        "is_bound": reason.is_bound,
        "nodes": [task.nodes[index].label for index in reason.nodes],
        "sites": [task.sites[index].name for index in reason.sites],
    }
