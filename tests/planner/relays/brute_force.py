"""Every set of sites tried, against every route written out: slow, and simple enough to be believed."""

import itertools
from dataclasses import dataclass

import numpy as np

from showplan.planner.relays.problem import AirLimit, RelayProblem

TINY = 1e-9


@dataclass(frozen=True)
class Way:
    """A route: its gateway, the sites as a set, the product of its deliveries, its links."""

    gateway: int
    sites: frozenset[int]
    delivery: float
    hops: int


@dataclass(frozen=True)
class Best:
    """The best of all sets by cost, then worst delivery, then air time; and how many sets have that cost."""

    cost: float
    worst_delivery: float
    air_s: float
    sets: int


def ways(problem: RelayProblem, node: int) -> list[Way]:
    """All routes without a repeated site within the hops allowed, over links that are good enough for the node."""
    found = []
    own = next((own for own in problem.own_links if node in own.nodes), None)
    between = problem.site_to_site * (1 if own is None else own.site_to_site)
    first = problem.gateway_to_site * (1 if own is None else own.gateway_to_site)

    def go_on(gateway: int, way: list[int], delivery: float) -> None:
        row = problem.site_to_node[way[-1]] if way else problem.gateway_to_node[gateway]
        if row[node] > 0:
            found.append(Way(gateway, frozenset(way), delivery * row[node], len(way) + 1))
        if len(way) + 1 < problem.most_hops:
            onward = between[way[-1]] if way else first[gateway]
            for site in np.flatnonzero(onward):
                if site not in way and not problem.never[site]:
                    go_on(gateway, [*way, int(site)], delivery * onward[site])

    for gateway in range(problem.n_gateways):
        go_on(gateway, [], 1.0)
    return found


def has_routes(open_ways: list[Way], wanted: int) -> bool:
    """One route, or two that share no site and are not the same direct link."""
    if wanted == 1:
        return bool(open_ways)
    return any(
        not a.sites & b.sites and (a.sites or b.sites or a.gateway != b.gateway)
        for a, b in itertools.combinations(open_ways, 2)
    )


def most_nodes(problem: RelayProblem, relays: int) -> int:
    """The most nodes that any set of so many relays serves; -1 where more must stand."""
    all_ways = [ways(problem, node) for node in range(problem.n_nodes)]
    must = set(np.flatnonzero(problem.must).tolist())
    free = [site for site in range(problem.n_sites) if site not in must and not problem.never[site]]
    size = min(relays - len(must), len(free))
    best = -1
    for extra in itertools.combinations(free, size) if size >= 0 else ():
        for gateways in itertools.combinations(range(problem.n_gateways), problem.gateways_standing):
            sites = must | set(extra)
            served = 0
            for node, every in enumerate(all_ways):
                open_ways = [way for way in every if way.gateway in gateways and way.sites <= sites]
                served += has_routes(open_ways, problem.routes[node])
            best = max(best, served)
    return best


def best_of_all(problem: RelayProblem) -> Best | None:
    """Try every choice of gateways and sites; None where none will do."""
    all_ways = [ways(problem, node) for node in range(problem.n_nodes)]
    must = set(np.flatnonzero(problem.must).tolist())
    free = [site for site in range(problem.n_sites) if site not in must and not problem.never[site]]
    choices = [must | set(extra) for size in range(len(free) + 1) for extra in itertools.combinations(free, size)]
    choices.sort(key=lambda sites: sum(problem.cost[list(sites)]))
    best: list[tuple[float, float]] = []
    cost = np.inf
    for sites in choices:
        here = float(sum(problem.cost[list(sites)]))
        if here > cost + TINY:
            break
        for gateways in itertools.combinations(range(problem.n_gateways), problem.gateways_standing):
            found = _judge(problem, all_ways, sites, gateways)
            if found is not None:
                cost = here
                best.append(found)
    if not best:
        return None
    worst = max(delivery for delivery, _ in best)
    return Best(cost, worst, min(air for delivery, air in best if delivery >= worst * (1 - TINY)), len(best))


def _judge(
    problem: RelayProblem, all_ways: list[list[Way]], sites: set[int], gateways: tuple[int, ...]
) -> tuple[float, float] | None:
    """Worst delivery and air time of a set, None where it will not do."""
    if problem.most_relays is not None and len(sites) > problem.most_relays:
        return None
    worst, hops = 1.0, 0
    for node, every in enumerate(all_ways):
        open_ways = [way for way in every if way.gateway in gateways and way.sites <= sites]
        if not has_routes(open_ways, problem.routes[node]):
            return None
        worst = min(worst, max(way.delivery for way in open_ways))
        hops += min(way.hops for way in open_ways)
    air = problem.air or AirLimit("routed", 1.0, np.inf)
    air_s = air.packet_s * (hops if air.kind == "routed" else len(gateways) + len(sites))
    return None if air_s > air.allowed_s * (1 + TINY) else (worst, air_s)
