"""The most nodes that too few relays serve, against all sets tried and against the maximal covering model."""

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, milp

from showplan.planner.relays.most_served import most_served
from showplan.planner.relays.needs import Needs
from showplan.planner.relays.posts import Posts
from showplan.planner.relays.problem import AirLimit, Booleans, RelayProblem
from showplan.planner.relays.solve import solve
from showplan.planner.relays.watch import Settings
from tests.planner.relays.brute_force import most_nodes
from tests.planner.relays.problems import covering, from_links, hall_reach, random_problem, with_own_links

SETTINGS = Settings(improvement_rounds=20, swaps=50, alternatives=0, trade_steps=0)

# (sites, nodes, relays) of `hall_reach` with seed 1: the objective of spopt 0.7.0's MCLP under CBC. Printed by
# `python tests/scale/bench_relays.py YARDSTICK.py most`, which asks spopt and OR-tools anew.
BY_SPOPT = {(60, 40, 3): 27, (200, 100, 5): 82}


def served_by(problem: RelayProblem, sites: tuple[int, ...], gateways: tuple[int, ...]) -> list[int]:
    chosen = np.zeros(problem.n_sites + problem.n_gateways, dtype=bool)
    chosen[[*sites, *(problem.n_sites + gateway for gateway in gateways)]] = True
    return np.flatnonzero(Needs(Posts(problem)).served(chosen)).tolist()


@pytest.mark.parametrize("first", range(4000, 4060, 20))
def test_no_set_serves_more(first: int) -> None:
    for seed in range(first, first + 20):
        problem = random_problem(seed)
        if seed % 3 == 0:
            problem = with_own_links(problem, seed)
        relays = seed % 4
        found = most_served(problem, relays, settings=SETTINGS)
        most = most_nodes(problem, relays)
        if found is None:
            assert most == -1
            continue
        assert (len(found.nodes), found.bound, found.is_proven) == (most, most, True)
        assert len(found.sites) <= relays
        assert list(found.nodes) == served_by(problem, found.sites, found.gateways)


def maximal_covering(heard: Booleans, sites: int) -> int:
    """The model of Church and ReVelle (1974) as published: most nodes covered by p sites; (sites, nodes) heard."""
    n, m = heard.shape
    rows = np.hstack([heard.T.astype(float), -np.eye(m)])
    count = np.concatenate([np.ones(n), np.zeros(m)])
    limits = [LinearConstraint(rows, 0, np.inf), LinearConstraint(count, sites, sites)]
    result = milp(
        -np.concatenate([np.zeros(n), np.ones(m)]), constraints=limits, integrality=np.ones(n + m), bounds=(0, 1)
    )
    return round(-result.fun)


@pytest.mark.parametrize(("sites", "nodes", "relays"), BY_SPOPT)
def test_as_many_as_the_maximal_covering_model(sites: int, nodes: int, relays: int) -> None:
    for seed in (1, 2):
        heard = hall_reach(sites, nodes, seed)
        found = most_served(covering(heard), relays, settings=SETTINGS)
        assert found is not None
        assert (len(found.nodes), found.bound) == (maximal_covering(heard, relays),) * 2
        assert heard[list(found.sites)].any(axis=0).sum() == len(found.nodes)
        if seed == 1:
            assert len(found.nodes) == BY_SPOPT[sites, nodes, relays]


def test_the_answer_says_what_too_few_relays_can_do() -> None:
    """Gateway G; A serves two nodes, B behind C one: with one relay A."""
    links = [("G", "A"), ("A", "n"), ("A", "o"), ("G", "C"), ("C", "B"), ("B", "p")]
    answer = solve(from_links(["A", "B", "C"], ["n", "o", "p"], links, most_relays=1), settings=SETTINGS)
    found = answer.most_served
    assert found is not None
    assert (found.relays_allowed, found.sites, found.nodes, found.bound) == (1, (0,), (0, 1), 2)
    with_two = solve(from_links(["A", "B", "C"], ["n", "o", "p"], links, most_relays=2), settings=SETTINGS).most_served
    assert with_two is not None
    assert (with_two.sites, with_two.nodes) == ((0,), (0, 1))  # a relay that serves nobody stays in the truck
    assert (
        solve(from_links(["A", "B", "C"], ["n", "o", "p"], links, most_relays=3), settings=SETTINGS).most_served is None
    )


def test_a_relay_limit_from_the_air_counts_too() -> None:
    links = [("G", "A"), ("A", "n"), ("G", "B"), ("B", "o")]
    problem = from_links(["A", "B"], ["n", "o"], links, air=AirLimit("repeated", 0.1, 0.2))
    found = solve(problem, settings=SETTINGS).most_served
    assert found is not None
    assert (found.relays_allowed, len(found.nodes), found.is_proven) == (1, 1, True)


def test_what_is_not_proven_has_a_bound_above() -> None:
    heard = hall_reach(200, 100, 1)
    found = most_served(covering(heard), 5, settings=Settings(seconds=0.0))
    assert found is not None
    assert len(found.nodes) <= BY_SPOPT[200, 100, 5] <= found.bound
