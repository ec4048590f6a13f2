"""The levelled model: its cuts against networkx' greatest flows, its bound and placements against all sets tried."""

import itertools
from dataclasses import replace

import networkx as nx
import numpy as np
import pytest
from scipy.sparse import csr_array

from showplan.planner.relays.dominated import implied_rows, undominated
from showplan.planner.relays.fewer import Fewer, can_exchange
from showplan.planner.relays.halved import AtLeast, halved, halved_cuts, one_of
from showplan.planner.relays.levelled import Levelled, levelled
from showplan.planner.relays.levelled_bound import LevelledBound
from showplan.planner.relays.needs import Needs
from showplan.planner.relays.posts import Posts
from showplan.planner.relays.problem import RelayProblem
from tests.planner.relays.brute_force import best_of_all
from tests.planner.relays.problems import random_problem

FLOW = 1e-6


def one_route(seed: int) -> RelayProblem:
    """A random problem, one route to each node, nothing else limited."""
    problem = random_problem(seed, most_sites=10)
    return replace(problem, routes=(1,) * problem.n_nodes, most_relays=None, air=None)


def flow_to(model: Levelled, node: int, room: np.ndarray) -> float:
    """The greatest flow from the gateways to a node when copies let through `room`."""
    graph = nx.DiGraph()
    graph.add_nodes_from(["gateway", "node"])
    for copy, through in enumerate(room):
        graph.add_edge((copy, "in"), (copy, "out"), capacity=float(through))
        if model.is_first[copy]:
            graph.add_edge("gateway", (copy, "in"))
        for other in model.onward[[copy]].indices:
            graph.add_edge((copy, "out"), (int(other), "in"))
    for copy in model.ends[[node]].indices:
        graph.add_edge((int(copy), "out"), "node")
    return float(nx.maximum_flow_value(graph, "gateway", "node"))


@pytest.mark.parametrize("clear", [True, False])
def test_cuts_are_found_where_a_greatest_flow_is_below_one_and_part_every_way(clear: bool) -> None:
    random = np.random.default_rng(1)
    for seed in range(30):
        model = levelled(Needs(Posts(one_route(seed))), clear)
        nodes, copies = model.ends.shape
        if not copies or not nodes:
            continue
        room = random.choice([0.0, 0.2, 0.5, 1.0], copies)
        bound = LevelledBound(model)
        for node in range(nodes):
            bound._queue = [node]
            cuts = bound.broken(room, 2, 1)
            flow = flow_to(model, node, room)
            assert bool(cuts) == (flow < 1 - 1e-3)
            if cuts:
                assert min(room[cut.columns].sum() for cut in cuts) == pytest.approx(flow, abs=FLOW)
            for cut in cuts:
                without = np.ones(copies)
                without[cut.columns] = 0
                assert flow_to(model, node, without) == 0


@pytest.mark.parametrize("clear", [True, False])
def test_the_bound_is_never_above_the_best_of_all_sets(clear: bool) -> None:
    met = compared = 0
    for seed in range(100, 150):
        problem = one_route(seed)
        best = best_of_all(problem)
        needs = Needs(Posts(problem))
        chosen_gateways = problem.gateways_standing < problem.n_gateways
        model = levelled(needs, clear)
        if best is None or not len(model.post) or not model.ends.shape[0]:
            continue
        bound = LevelledBound(model)
        bound.raise_by(30, 80, 2, lambda _: False)
        assert bound.priced is not None
        fixed = float(problem.cost[problem.must].sum())
        assert fixed + bound.priced.bound <= best.cost + FLOW
        compared += not chosen_gateways
        met += not chosen_gateways and fixed + bound.priced.bound > best.cost - FLOW
    assert compared > 10
    assert met > 0.8 * compared  # nearly no gap is left in problems so small


def test_a_sum_halved_and_rounded_up_keeps_every_whole_point() -> None:
    random = np.random.default_rng(2)
    points = np.array(list(itertools.product([0, 1, 2], repeat=6)))
    for _ in range(200):
        parts = []
        for _ in range(3):
            columns = np.flatnonzero(random.random(6) < 0.5)
            if len(columns):
                factors = random.integers(1, 3, len(columns)).astype(float)
                parts.append(AtLeast(columns, factors, float(random.integers(1, 4))))
        if parts:
            kept = [points[:, part.columns] @ part.factors >= part.least for part in parts]
            made = halved(parts)
            assert (points[np.all(kept, axis=0)][:, made.columns] @ made.factors >= made.least).all()


def test_three_chains_shared_by_halves_need_two() -> None:
    """Any two of three columns do for a node each: the halves of all three are cut off."""
    pairs = [one_of(np.array(pair)) for pair in ((0, 1), (1, 2), (0, 2))]
    (cut,) = halved_cuts(pairs, np.full(3, 0.5), 10)
    assert (cut.columns.tolist(), cut.factors.tolist(), cut.least) == ([0, 1, 2], [1, 1, 1], 2)


def test_of_candidates_the_one_with_all_traits_stays_unless_it_costs_more() -> None:
    traits = csr_array(np.array([[1, 1, 0], [1, 0, 0], [1, 1, 0], [0, 0, 1], [0, 1, 1]], dtype=float))
    assert undominated([traits], np.ones(5)).tolist() == [True, False, False, False, True]
    assert undominated([traits], np.array([1, 1, 1, 1, 2.0])).tolist() == [True, False, False, True, True]
    assert implied_rows(traits).tolist() == [True, False, True, False, True]


def test_the_exchange_finds_the_fewest_and_keeps_what_is_fixed() -> None:
    found = 0
    for seed in range(200, 240):
        problem = replace(one_route(seed), gateways_to_choose=None)
        problem = replace(problem, cost=np.ones(problem.n_sites))
        best = best_of_all(problem)
        if best is None:
            continue
        posts = Posts(problem)
        needs = Needs(posts)
        assert can_exchange(needs)
        fewer = Fewer(needs, posts.usable.copy(), seed)
        for _ in range(problem.n_sites):
            fewer.begin(200)
            fewer.end()
        chosen = posts.usable if fewer.found is None else fewer.found
        assert needs.all_served(chosen)
        assert chosen[posts.fixed].all()
        assert chosen[: posts.n].sum() == best.cost
        found += 1
    assert found > 10
