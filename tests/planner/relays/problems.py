"""Relay problems for tests: random ones from a seed, and small ones written as links."""

from dataclasses import replace
from typing import Any

import numpy as np

from showplan.planner.relays.own_links import OwnLinks
from showplan.planner.relays.problem import AirLimit, Booleans, RelayProblem


def from_links(
    sites: list[str],
    nodes: list[str],
    links: list[tuple[str, str]] | dict[tuple[str, str], float],
    gateways: tuple[str, ...] = ("G",),
    **rest: Any,
) -> RelayProblem:
    """A problem from names and links (with deliveries, or 1); links between sites work both ways."""
    deliveries = links if isinstance(links, dict) else dict.fromkeys(links, 1.0)
    at = {name: i for names in (sites, nodes, gateways) for i, name in enumerate(names)}
    n, m, g = len(sites), len(nodes), len(gateways)
    between, last = np.zeros((n, n)), np.zeros((n, m))
    first, direct = np.zeros((g, n)), np.zeros((g, m))
    for (a, b), delivery in deliveries.items():
        if a in gateways:
            (direct if b in nodes else first)[at[a], at[b]] = delivery
        elif b in nodes:
            last[at[a], at[b]] = delivery
        else:
            between[at[a], at[b]] = between[at[b], at[a]] = delivery
    given = {
        "cost": np.ones(n),
        "must": np.zeros(n, dtype=bool),
        "never": np.zeros(n, dtype=bool),
        "most_hops": n + 1,
        "routes": (1,) * m,
        **rest,
    }
    return RelayProblem(tuple(sites), tuple(nodes), between, last, first, direct, gateways, **given)


def random_problem(seed: int, most_sites: int = 8) -> RelayProblem:
    """A small problem in which every kind of requirement turns up."""
    random = np.random.default_rng(seed)
    n = int(random.integers(3, most_sites + 1))
    m, g = int(random.integers(1, 6)), int(random.integers(1, 4))
    kinds = random.random(8)
    where = random.uniform(0, 30, (n + m + g, 2))
    distance = np.linalg.norm(where[:, None] - where[None], axis=-1)
    delivery = np.where(distance < 15, np.round(1 - (distance / 19) ** 2 * random.uniform(0.3, 1), 2), 0.0)
    delivery = np.triu(delivery, 1) + np.triu(delivery, 1).T
    sites, nodes, gateways = np.split(np.arange(n + m + g), [n, n + m])
    air = None
    if kinds[0] < 0.3:
        air = AirLimit("repeated", 0.01, 0.01 * int(random.integers(g + 1, g + n + 1)))
    elif kinds[0] < 0.6:
        air = AirLimit("routed", 0.01, 0.01 * int(random.integers(m, 3 * m + 2)))
    must = random.random(n) < (0.15 if kinds[1] < 0.4 else 0)
    return RelayProblem(
        site_names=tuple(f"S{i}" for i in range(n)),
        node_names=tuple(f"N{i}" for i in range(m)),
        site_to_site=delivery[np.ix_(sites, sites)],
        site_to_node=delivery[np.ix_(sites, nodes)],
        gateway_to_site=delivery[np.ix_(gateways, sites)],
        gateway_to_node=delivery[np.ix_(gateways, nodes)] * (random.random((g, m)) < 0.4),
        gateway_names=tuple(f"G{i}" for i in range(g)),
        cost=np.ones(n) if kinds[2] < 0.5 else np.round(random.uniform(0.5, 3, n), int(random.integers(0, 3))) + 0.5,
        must=must,
        never=~must & (random.random(n) < (0.2 if kinds[3] < 0.4 else 0)),
        most_hops=int(random.integers(2, 6)) if kinds[7] < 0.9 else 1,
        routes=tuple(int(k) for k in random.integers(1, 3, m)) if kinds[4] < 0.6 else (1,) * m,
        most_relays=int(random.integers(0, n + 1)) if kinds[5] < 0.3 else None,
        gateways_to_choose=int(random.integers(1, g + 1)) if kinds[6] < 0.5 else None,
        air=air,
    )


def with_own_links(problem: RelayProblem, seed: int) -> RelayProblem:
    """The same where up to three groups of nodes have a least delivery of every hop, or lack links at random."""
    random = np.random.default_rng(seed)
    group = random.integers(-1, 3, problem.n_nodes)
    last, direct = problem.site_to_node.copy(), problem.gateway_to_node.copy()
    own = []
    for number in range(3):
        nodes = np.flatnonzero(group == number)
        least = random.uniform(0.2, 0.85)
        lacks = random.random((problem.n_sites, problem.n_sites)) < (0.1 if number == 2 else 0)
        between = (problem.site_to_site >= least) & ~(lacks | lacks.T)
        own.append(OwnLinks(tuple(nodes.tolist()), between, problem.gateway_to_site >= least))
        last[:, nodes] *= last[:, nodes] >= least
        direct[:, nodes] *= direct[:, nodes] >= least
    return replace(problem, site_to_node=last, gateway_to_node=direct, own_links=tuple(own))


def hall_reach(sites: int, nodes: int, seed: int, width_m: float = 80.0, depth_m: float = 50.0) -> Booleans:
    """(sites, nodes) which of these points, strewn over a hall, are within 14 m of each other."""
    random = np.random.default_rng(seed)
    ends = [random.uniform((0, 0), (width_m, depth_m), (count, 2)) for count in (sites, nodes)]
    return np.asarray(np.linalg.norm(ends[0][:, None] - ends[1][None], axis=-1) <= 14.0)


def covering(heard: Booleans) -> RelayProblem:
    """Coverage alone: every site hears the gateway, which no node does; (sites, nodes) heard."""
    n, m = heard.shape
    names = tuple(f"S{i}" for i in range(n)), tuple(f"N{i}" for i in range(m))
    nowhere = np.zeros(n, dtype=bool)
    reach = np.zeros((n, n)), heard.astype(float), np.ones((1, n)), np.zeros((1, m))
    return RelayProblem(*names, *reach, ("G",), np.ones(n), nowhere, nowhere, 2, (1,) * m)
