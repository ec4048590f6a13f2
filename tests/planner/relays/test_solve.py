"""Single traits of the answer: reasons, trade, alternatives, cancel, repetition, progress."""

from dataclasses import replace

import numpy as np
import pytest

from showplan.planner.relays.answer import RelayPlacement
from showplan.planner.relays.needs import Needs
from showplan.planner.relays.posts import Posts
from showplan.planner.relays.problem import AirLimit, RelayProblem
from showplan.planner.relays.solve import solve
from showplan.planner.relays.watch import Settings
from tests.planner.relays.problems import from_links, random_problem

CHAIN = {("G", "A"): 0.9, ("A", "B"): 0.9, ("B", "C"): 0.9, ("C", "n"): 0.9}


def chain(**rest: object) -> RelayProblem:
    """Gateway, three sites in a row, one node at the end."""
    return from_links(["A", "B", "C"], ["n"], CHAIN, **rest)


def hall(seed: int, sites: int = 60, nodes: int = 25, routes: int = 1) -> RelayProblem:
    """A hall of 50 x 30 m with links up to 12 m, delivery falling with distance."""
    random = np.random.default_rng(seed)
    where = random.uniform(0, 1, (sites + nodes, 2)) * [50, 30]
    where = np.vstack([where, [[10, 15], [40, 15]]])
    distance = np.linalg.norm(where[:, None] - where[None], axis=-1)
    delivery = np.where(distance < 12, 1 - (distance / 20) ** 2, 0)
    np.fill_diagonal(delivery, 0)
    s, t, g = np.split(np.arange(sites + nodes + 2), [sites, sites + nodes])
    return RelayProblem(
        tuple(f"S{i}" for i in range(sites)),
        tuple(f"N{i}" for i in range(nodes)),
        delivery[np.ix_(s, s)],
        delivery[np.ix_(s, t)],
        delivery[np.ix_(g, s)],
        delivery[np.ix_(g, t)],
        ("G1", "G2"),
        np.ones(sites),
        np.zeros(sites, dtype=bool),
        np.zeros(sites, dtype=bool),
        4,
        (routes,) * nodes,
    )


class Notes:
    """Keeps what is told; cancels once `after` calls were made."""

    def __init__(self, after: float = np.inf) -> None:
        self.told: list[tuple[float, str, RelayPlacement | None, float]] = []
        self.after = after
        self.asked = 0

    def progress(self, done: float, doing: str, best: RelayPlacement | None, bound: float) -> None:
        self.told.append((done, doing, best, bound))

    def is_cancelled(self) -> bool:
        self.asked += 1
        return self.asked > self.after


def test_a_chain_needs_all_three() -> None:
    answer = solve(chain())
    placement = answer.placement
    assert placement is not None
    assert (answer.state, placement.sites, placement.routes) == ("optimal", (0, 1, 2), ((0, 1, 2),))
    assert placement.worst_delivery == pytest.approx(0.9**4)
    assert placement.air_s == pytest.approx(4)


def test_a_node_that_the_gateway_reaches_needs_no_relay() -> None:
    answer = solve(from_links(["A"], ["n"], [("G", "n")]))
    assert answer.state == "optimal"
    assert answer.placement is not None
    assert (answer.placement.sites, answer.placement.routes, answer.gap) == ((), ((),), 0.0)


def test_two_routes_may_share_the_gateway_and_a_direct_link_is_one() -> None:
    answer = solve(from_links(["A", "B"], ["n"], [("G", "n"), ("G", "A"), ("A", "n")], routes=(2,)))
    assert answer.placement is not None
    assert answer.placement.sites == (0,)
    assert set(answer.placement.disjoint_routes[0]) == {(), (0,)}


def test_a_short_pair_is_found_where_the_shortest_route_bars_the_second() -> None:
    """The shortest route G-A-B-n leaves no second; the pair is G-A-D-n and G-C-B-n."""
    links = [("G", "A"), ("A", "B"), ("B", "n"), ("G", "C"), ("C", "B"), ("A", "D"), ("D", "n")]
    answer = solve(from_links(["A", "B", "C", "D"], ["n"], links, routes=(2,), most_hops=3))
    assert answer.placement is not None
    assert answer.placement.sites == (0, 1, 2, 3)


@pytest.mark.parametrize(
    ("problem", "code", "limit", "smallest"),
    [
        (chain(most_hops=3), "too-many-hops", "most_hops", 4),
        (chain(most_relays=2), "too-few-relays", "most_relays", 3),
        (chain(never=np.array([0, 1, 0], bool)), "never-in-the-way", "never", None),
        (chain(routes=(2,)), "one-route-only", "routes", 1),
        (chain(air=AirLimit("repeated", 0.1, 0.3)), "too-much-air", "air.allowed_s", 0.4),
        (chain(air=AirLimit("routed", 0.1, 0.3)), "too-much-air", "air.allowed_s", 0.4),
        (chain(must=np.ones(3, bool), most_relays=1), "too-few-relays", "most_relays", 3),
        (from_links(["A"], ["n"], [("G", "A")]), "not-reached", "site_names", None),
        (
            from_links(["A", "B", "C"], ["n"], [("G", "A"), ("A", "n"), ("G", "B"), ("B", "C"), ("C", "n")],
                       routes=(2,), most_hops=2),
            "two-routes-too-long", "most_hops", 3,
        ),
        (
            from_links(["A"], ["n", "o"], [("G", "n"), ("H", "o")], gateways=("G", "H"), gateways_to_choose=1),
            "too-few-gateways", "gateways_to_choose", 2,
        ),
    ],
)  # fmt: skip
def test_reasons_name_the_limit_and_what_would_do(
    problem: RelayProblem, code: str, limit: str, smallest: float | None
) -> None:
    answer = solve(problem)
    assert answer.state == "infeasible"
    (reason,) = answer.reasons
    assert (reason.code, reason.limit) == (code, limit)
    assert reason.smallest == (None if smallest is None else pytest.approx(smallest))


@pytest.mark.parametrize("seed", range(60))
def test_the_smallest_value_named_does_do(seed: int) -> None:
    problem = random_problem(seed)
    answer = solve(problem, settings=Settings(improvement_rounds=10, swaps=50, alternatives=0, trade_steps=0))
    if len(answer.reasons) != 1 or answer.reasons[0].is_bound:
        return
    reason = answer.reasons[0]
    if reason.limit in ("most_hops", "most_relays", "gateways_to_choose") and reason.smallest is not None:
        relaxed = replace(problem, **{reason.limit: int(reason.smallest)})
        with_others = solve(relaxed)
        assert reason.code not in {other.code for other in with_others.reasons}
        tighter = replace(problem, **{reason.limit: int(reason.smallest) - 1})
        assert solve(tighter).state == "infeasible"


def test_more_relays_bring_more_delivery() -> None:
    answer = solve(hall(1), settings=Settings(improvement_rounds=60, swaps=400, alternatives=4))
    assert answer.placement is not None
    relays = [point.relays_allowed for point in answer.trade]
    worst = [point.worst_delivery for point in answer.trade]
    assert relays == list(range(answer.placement.relays, answer.placement.relays + 4))
    assert worst == sorted(worst)
    assert worst[0] == pytest.approx(answer.placement.worst_delivery)
    assert worst[-1] > worst[0]


def test_alternatives_cost_the_same_and_differ_in_a_fifth() -> None:
    problem = hall(2)
    answer = solve(problem, settings=Settings(improvement_rounds=60, swaps=200, trade_steps=0))
    assert answer.placement is not None
    assert answer.alternatives
    needs = Needs(Posts(problem))
    every = [answer.placement, *answer.alternatives]
    for place, other in enumerate(every):
        chosen = np.ones(problem.n_sites + 2, dtype=bool)
        chosen[: problem.n_sites] = np.isin(np.arange(problem.n_sites), other.sites)
        assert needs.all_served(chosen)
        assert other.cost == answer.placement.cost
        for earlier in every[:place]:
            assert len(set(earlier.sites) - set(other.sites)) >= max(1, len(earlier.sites) / 5)


@pytest.mark.parametrize("routes", [1, 2])
def test_the_same_problem_has_the_same_answer(routes: int) -> None:
    settings = Settings(improvement_rounds=40, swaps=200, trade_steps=1)
    assert solve(hall(3, 40, 12, routes), settings=settings) == solve(hall(3, 40, 12, routes), settings=settings)


def test_progress_is_told_in_order_with_best_and_bound() -> None:
    notes = Notes()
    answer = solve(hall(4), watch=notes, settings=Settings(improvement_rounds=60, swaps=200, trade_steps=1))
    done = [told[0] for told in notes.told]
    assert done == sorted(done)
    assert (done[0], done[-1]) == (0.0, 1.0)
    assert answer.placement is not None
    for _, _, best, bound in notes.told:
        assert bound <= answer.placement.cost
        assert best is None or best.cost >= answer.placement.cost


@pytest.mark.parametrize("after", [0, 1, 5, 40, 200])
def test_a_cancel_keeps_the_best_so_far(after: int) -> None:
    problem = hall(5, 120, 50)
    answer = solve(problem, watch=Notes(after))
    if answer.placement is None:
        assert (answer.state, answer.placement) == ("cancelled-without", None)
        return
    assert answer.state in ("feasible", "optimal")
    assert answer.bound <= answer.placement.cost
    assert answer.gap == pytest.approx((answer.placement.cost - answer.bound) / answer.placement.cost)
    chosen = np.ones(problem.n_sites + 2, dtype=bool)
    chosen[: problem.n_sites] = np.isin(np.arange(problem.n_sites), answer.placement.sites)
    assert Needs(Posts(problem)).all_served(chosen)


def test_a_placement_that_breaks_a_limit_is_never_told() -> None:
    notes = Notes()
    answer = solve(chain(most_relays=2), watch=notes)
    assert answer.state == "infeasible"
    assert all(best is None for _, _, best, _ in notes.told)


def test_no_time_at_all_is_said() -> None:
    answer = solve(hall(6), settings=Settings(seconds=0.0))
    assert answer.state in ("feasible", "cancelled-without")
    assert answer.stages_proven == (False, False, False)


def test_a_forbidden_site_is_a_new_question() -> None:
    problem = hall(7)
    settings = Settings(improvement_rounds=40, swaps=50, alternatives=0, trade_steps=0)
    first = solve(problem, settings=settings)
    assert first.placement is not None
    never = np.zeros(problem.n_sites, dtype=bool)
    never[first.placement.sites[0]] = True
    second = solve(replace(problem, never=never), settings=settings)
    assert second.placement is not None
    assert first.placement.sites[0] not in second.placement.sites
    assert second.placement.cost >= first.placement.cost
