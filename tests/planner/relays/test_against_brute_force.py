"""Small random problems with every kind of requirement, against all sets tried."""

from dataclasses import replace

import networkx as nx
import numpy as np
import pytest

from showplan.planner.relays.answer import RelayAnswer
from showplan.planner.relays.own_links import OwnLinks
from showplan.planner.relays.problem import RelayProblem
from showplan.planner.relays.solve import solve
from showplan.planner.relays.watch import Settings
from tests.planner.relays.brute_force import best_of_all
from tests.planner.relays.problems import random_problem, with_own_links

SETTINGS = Settings(improvement_rounds=20, swaps=300, alternatives=2, trade_steps=1)


def agrees(problem: RelayProblem) -> RelayAnswer:
    """The answer, held against the best of all sets."""
    answer = solve(problem, settings=SETTINGS)
    best = best_of_all(problem)
    if best is None:
        assert answer.state == "infeasible"
        assert answer.placement is None
        assert answer.reasons
        return answer
    placement = answer.placement
    assert placement is not None
    assert (answer.state, answer.stages_proven) == ("optimal", (True, True, True))
    assert placement.cost == pytest.approx(best.cost)
    assert answer.bound == pytest.approx(best.cost)
    assert placement.worst_delivery == pytest.approx(best.worst_delivery)
    assert placement.air_s == pytest.approx(best.air_s)
    for other in answer.alternatives:
        assert other.cost == pytest.approx(best.cost)
        assert set(other.sites) != set(placement.sites)
    assert len(answer.alternatives) < best.sets
    return answer


@pytest.mark.parametrize("first", range(0, 180, 20))
def test_up_to_eight_sites(first: int) -> None:
    for seed in range(first, first + 20):
        agrees(random_problem(seed))


@pytest.mark.parametrize("first", range(1000, 1040, 10))
def test_up_to_twelve_sites(first: int) -> None:
    for seed in range(first, first + 10):
        agrees(random_problem(seed, most_sites=12))


@pytest.mark.parametrize("first", range(3000, 3040, 10))
def test_nodes_that_want_more_of_every_hop(first: int) -> None:
    for seed in range(first, first + 10):
        agrees(with_own_links(random_problem(seed, most_sites=12 if seed % 4 == 0 else 8), seed))


@pytest.mark.parametrize("seed", range(2000, 2030))
def test_disjoint_routes_against_greatest_flow(seed: int) -> None:
    """With hops for every site Menger's theorem holds: two routes are there when a flow of two is.

    Of every other problem the last three nodes may use but some of the links.
    """
    random = np.random.default_rng(seed)
    n, m = 14, 6
    links = np.triu(random.random((n, n)) < 0.2, 1).astype(float)
    last = (random.random((n, m)) < 0.25).astype(float)
    first = (random.random((1, n)) < 0.25).astype(float)
    problem = RelayProblem(
        tuple(f"S{i}" for i in range(n)),
        tuple(f"N{i}" for i in range(m)),
        links + links.T,
        last,
        first,
        np.zeros((1, m)),
        ("G",),
        np.ones(n),
        np.zeros(n, dtype=bool),
        np.zeros(n, dtype=bool),
        n + 1,
        (2,) * m,
    )
    if seed % 2:
        good = np.triu(random.random((n, n)) < 0.8, 1)
        problem = replace(problem, own_links=(OwnLinks((3, 4, 5), (good | good.T) & (links + links.T > 0), first > 0),))
    answer = solve(problem, settings=SETTINGS)
    everywhere = [_flow(problem, range(n), node) for node in range(m)]
    if min(everywhere) < 2:
        short = {node for reason in answer.reasons for node in reason.nodes}
        assert short == {node for node, flow in enumerate(everywhere) if flow < 2}
        return
    placement = answer.placement
    assert placement is not None
    for node, pair in enumerate(placement.disjoint_routes):
        assert _flow(problem, placement.sites, node) >= 2
        assert len(pair) == 2
        assert not set(pair[0]) & set(pair[1])
    for site in placement.sites:  # fewest: none can be spared
        rest = [other for other in placement.sites if other != site]
        assert min(_flow(problem, rest, node) for node in range(m)) < 2


def _flow(problem: RelayProblem, sites: object, node: int) -> int:
    graph = nx.DiGraph()
    graph.add_nodes_from(["gateway", "node"])
    own = next((own for own in problem.own_links if node in own.nodes), None)
    between = problem.site_to_site if own is None else own.site_to_site
    for site in sites:  # type: ignore[attr-defined]
        graph.add_edge((site, "in"), (site, "out"), capacity=1)
        if problem.gateway_to_site[0, site]:
            graph.add_edge("gateway", (site, "in"), capacity=1)
        if problem.site_to_node[site, node]:
            graph.add_edge((site, "out"), "node", capacity=1)
        for other in sites:  # type: ignore[attr-defined]
            if between[site, other]:
                graph.add_edge((site, "out"), (other, "in"), capacity=1)
    return int(nx.maximum_flow_value(graph, "gateway", "node"))
