"""The levelled model: its cuts against networkx' greatest flows, its bound and placements against all sets tried."""

from collections.abc import Iterable
from dataclasses import replace

import networkx as nx
import numpy as np
import pytest
from scipy.sparse import csr_array

from showplan.planner.relays.dominated import implied_rows, undominated
from showplan.planner.relays.fewer import Fewer, can_anneal, most_alike
from showplan.planner.relays.levelled import Levelled, levelled
from showplan.planner.relays.levelled_bound import LevelledBound
from showplan.planner.relays.needs import Needs
from showplan.planner.relays.posts import Posts
from showplan.planner.relays.pricing import Prices, priced
from showplan.planner.relays.problem import RelayProblem
from tests.planner.relays.brute_force import best_of_all
from tests.planner.relays.problems import covering, hall_reach, random_problem

FLOW = 1e-6


def one_route(seed: int) -> RelayProblem:
    """A random problem, one route to each node, nothing else limited."""
    problem = random_problem(seed, most_sites=10)
    return replace(problem, routes=(1,) * problem.n_nodes, most_relays=None, air=None)


def flow_to(model: Levelled, node: int, links: Iterable[tuple[int, int, float]]) -> float:
    """The greatest flow from the gateways to a node over links with what each lets through."""
    graph = nx.DiGraph()
    graph.add_nodes_from([len(model.post), "node"])
    for sender, receiver, room in links:
        graph.add_edge(sender, receiver, capacity=room)
    for copy in model.ends[[node]].indices:
        graph.add_edge(int(copy), "node")
    return float(nx.maximum_flow_value(graph, len(model.post), "node"))


def all_links(model: Levelled) -> tuple[np.ndarray, np.ndarray]:
    """Senders and receivers of every link."""
    return model.likely_links(len(model.post))


@pytest.mark.parametrize("clear", [True, False])
def test_cuts_are_found_where_a_greatest_flow_is_below_one_and_part_every_way(clear: bool) -> None:
    random = np.random.default_rng(1)
    for seed in range(30):
        model = levelled(Needs(Posts(one_route(seed))), clear)
        nodes, copies = model.ends.shape
        if not copies or not nodes:
            continue
        sender, receiver = all_links(model)
        assert len(sender) == model.is_first.sum() + model.heard.nnz
        room = random.choice([0.0, 0.2, 0.5, 1.0], len(sender))
        bound = LevelledBound(model)
        bound._programme.add_links(sender, receiver)
        there = dict(zip(zip(sender.tolist(), receiver.tolist(), strict=True), room.tolist(), strict=True))
        held = list(zip(bound._programme.sender.tolist(), bound._programme.receiver.tolist(), strict=True))
        point = np.array([there[link] for link in held])
        for node in range(nodes):
            bound._queue = np.array([node])
            found = bound.broken(point, 1)
            flow = flow_to(model, node, [(*link, through) for link, through in there.items()])
            assert bool(len(found)) == (flow < 1 - 1e-3)
            into = [far[receiver] & ~far[sender] for far in found]
            if into:
                assert min(room[cut].sum() for cut in into) == pytest.approx(flow, abs=FLOW)
            for cut in into:
                assert flow_to(model, node, zip(sender, receiver, np.where(cut, 0.0, 1.0), strict=True)) == 0


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
        bound.raise_by(30, 80, lambda _: False)
        assert bound.best is not None
        fixed = float(problem.cost[problem.must].sum())
        assert fixed + bound.best.bound <= best.cost + FLOW
        compared += not chosen_gateways
        met += not chosen_gateways and fixed + bound.best.bound > best.cost - FLOW
    assert compared > 10
    assert met >= 0.9 * compared  # nearly no gap is left in problems so small


def test_any_prices_of_cuts_prove_a_bound_also_for_placements_with_a_given_site() -> None:
    random = np.random.default_rng(5)
    compared = 0
    for seed in range(300, 330):
        problem = replace(one_route(seed), gateways_to_choose=None)
        model = levelled(Needs(Posts(problem)), clear=False)
        if not len(model.post) or not model.ends.shape[0] or best_of_all(problem) is None:
            continue
        far = np.zeros((12, len(model.post) + 1), dtype=bool)
        far[:, :-1] = random.random((12, len(model.post))) < 0.4
        nodes = random.integers(0, model.ends.shape[0], 12)
        far[:, :-1] |= model.ends[nodes].toarray() > 0
        proven = priced(model, Prices(far, random.uniform(0, 0.6, 12)).cleared())
        fixed = float(problem.cost[problem.must].sum())
        for site in np.flatnonzero(~problem.never & ~problem.must):
            must = problem.must.copy()
            must[site] = True
            best = best_of_all(replace(problem, must=must))
            rises = proven.reduced[model.post == site]
            if best is not None and len(rises) and best.cost < best_of_all(problem).cost + problem.cost[site]:
                assert fixed + proven.bound + max(rises.min(), 0) <= best.cost + FLOW
                compared += 1
    assert compared > 10


def test_prices_add_up_exactly_in_single_precision() -> None:
    random = np.random.default_rng(6)
    prices = Prices(random.random((500, 9)) < 0.5, random.uniform(0, 0.2, 500)).cleared()
    single = prices.price.astype(np.float32)
    assert (single == prices.price).all()
    assert (single @ prices.far.astype(np.float32) == prices.price @ prices.far).all()


def test_between_prices_a_cut_of_both_has_one_price() -> None:
    one = Prices(np.array([[True, False], [False, True]]), np.array([0.5, 0.25]))
    other = Prices(np.array([[True, False], [True, True]]), np.array([1.0, 0.0]))
    between = one.towards(other, 0.5)
    assert {tuple(far): price for far, price in zip(between.far.tolist(), between.price.tolist(), strict=True)} == {
        (True, False): 0.75,
        (False, True): 0.125,
    }


def test_of_candidates_the_one_with_all_traits_stays_unless_it_costs_more() -> None:
    traits = csr_array(np.array([[1, 1, 0], [1, 0, 0], [1, 1, 0], [0, 0, 1], [0, 1, 1]], dtype=float))
    assert undominated([traits], np.ones(5)).tolist() == [True, False, False, False, True]
    assert undominated([traits], np.array([1, 1, 1, 1, 2.0])).tolist() == [True, False, False, True, True]
    assert implied_rows(traits).tolist() == [True, False, True, False, True]


def test_annealing_finds_the_fewest_and_keeps_what_is_fixed() -> None:
    found = 0
    for seed in range(200, 240):
        problem = replace(one_route(seed), gateways_to_choose=None)
        problem = replace(problem, cost=np.ones(problem.n_sites))
        best = best_of_all(problem)
        if best is None:
            continue
        posts = Posts(problem)
        needs = Needs(posts)
        assert can_anneal(needs)
        fewer = Fewer(needs, posts.usable.copy(), seed)
        for _ in range(problem.n_sites):
            fewer.begin(2000)
            fewer.end()
        chosen = posts.usable if fewer.found is None else fewer.found
        assert needs.all_served(chosen)
        assert chosen[posts.fixed].all()
        assert chosen[: posts.n].sum() == best.cost
        found += 1
    assert found > 10


def test_annealing_works_with_more_relays_than_a_word_has_bits_and_repeats() -> None:
    heard = hall_reach(150, 90, 3)
    problem = covering(heard[:, heard.any(axis=0)])
    posts = Posts(problem)
    needs = Needs(posts)
    found = []
    for _ in range(2):
        fewer = Fewer(needs, posts.usable.copy(), 7)
        fewer.begin(60)
        fewer.end()
        assert fewer.found is not None
        assert needs.all_served(fewer.found)
        assert 65 < fewer.found[: posts.n].sum() < posts.n
        found.append(fewer.found)
    assert (found[0] == found[1]).all()


def test_what_goes_wrong_in_annealing_is_heard_of(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> int:
        raise MemoryError

    monkeypatch.setattr("showplan.planner.relays.fewer.anneal", fails)
    posts = Posts(covering(np.ones((3, 2), dtype=bool)))
    fewer = Fewer(Needs(posts), posts.usable.copy(), 1)
    fewer.begin(10)
    with pytest.raises(MemoryError):
        fewer.end()


def test_annealing_can_be_broken_off() -> None:
    heard = hall_reach(60, 40, 3)
    posts = Posts(covering(heard[:, heard.any(axis=0)]))
    needs = Needs(posts)
    fewer = Fewer(needs, posts.usable.copy(), 7)
    fewer.begin(10**14)  # more than a year of them
    found = fewer.end(at_once=True)
    assert found is None or needs.all_served(found)


def test_most_alike_are_those_that_share_the_greatest_part() -> None:
    traits = np.array([[1, 1, 1, 0], [1, 1, 0, 0], [0, 0, 0, 1], [1, 1, 1, 1]], dtype=bool)
    assert most_alike(traits, 2)[0].tolist() == [3, 1]
    assert most_alike(traits, 9).shape == (4, 4)
