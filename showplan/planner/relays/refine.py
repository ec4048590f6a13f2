"""Later stages: at least cost the best worst delivery, at both the least air time; other placements as cheap."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from showplan.planner.relays.cheapest import EQUAL_COST, Cheapest
from showplan.planner.relays.delivery import EQUAL, node_deliveries
from showplan.planner.relays.exact import Outcome, Programme, Row, hops_total, minimise
from showplan.planner.relays.failing import Failures, SetCut
from showplan.planner.relays.needs import Needs, costs
from showplan.planner.relays.posts import Posts
from showplan.planner.relays.problem import Booleans
from showplan.planner.relays.search import Ticker

SOLVER_ROUNDS = 200
SOLVER_NODES = 20_000
STEP = 1e-7  # a better delivery is better by this share at least


@dataclass(frozen=True, eq=False)
class Within:
    """What a later stage may not give up: the cost, the number of sites, the hops in total, what every node needs."""

    needs: Needs
    most_cost: float
    most_sites: int | None
    most_hops_total: float | None
    cuts: dict[SetCut, None]

    @property
    def posts(self) -> Posts:
        """The graph."""
        return self.needs.posts

    def allows(self, chosen: Booleans) -> bool:
        """Whether a set keeps to all of it."""
        return (
            costs(self.posts, chosen) <= self.most_cost + EQUAL_COST
            and int(chosen[self.posts.n :].sum()) == self.posts.problem.gateways_standing
            and (self.most_sites is None or int(chosen[: self.posts.n].sum()) <= self.most_sites)
            and (self.most_hops_total is None or hops_total(self.posts, chosen) <= self.most_hops_total)
            and self.needs.all_served(chosen)
        )

    def programme(self, least_delivery: float) -> Programme:
        """A programme without an objective under all of it, and a least delivery to every node."""
        posts = self.posts
        sites = (np.arange(posts.count) < posts.n).astype(np.float64)
        standing = posts.problem.gateways_standing
        rows = [Row(1.0 - sites, standing, standing)]
        if np.isfinite(self.most_cost):
            rows.append(Row(posts.cost, high=self.most_cost + EQUAL_COST))
        if self.most_sites is not None:
            rows.append(Row(sites, high=self.most_sites))
        counts_hops = self.most_hops_total is not None
        if self.most_hops_total is not None:
            most = posts.problem.n_nodes * posts.problem.most_hops
            rows.append(Row(np.zeros(posts.count), low=most - self.most_hops_total, hop_factor=1.0))
        failures = Failures(Needs(posts, least_delivery))
        return Programme(failures, np.zeros(posts.count), posts.usable, rows, dict(self.cuts), counts_hops)


def within(search: Cheapest) -> Within:
    """The cost of the best set of the first stage, and the limits of the problem."""
    return Within(search.needs, search.best_cost, search.most_sites, search.most_hops_total, search.cuts)


def swap_search(
    bounds: Within,
    start: Booleans,
    value: Callable[[Booleans], tuple[float, ...]],
    ticker: Ticker,
    doing: str,
    seed: int,
    share: float = 1.0,
) -> Booleans:
    """Exchange one site for a near one, or one gateway for another, or add one, where that raises `value`.

    `share` of the swaps of the settings are tried, fewer where there are not so many.
    """
    posts = bounds.posts
    several_times_all = 8 * posts.count * max(1, int(start.sum()))
    tries = min(int(share * ticker.settings.swaps), several_times_all)
    random = np.random.default_rng(seed)
    best, best_value = start, value(start)
    for _ in range(tries):
        if ticker.tick(doing):
            break
        other = _neighbour(bounds, best, random)
        if other is None:
            break
        found = value(other)
        if found > best_value and bounds.allows(other):
            best, best_value = other, found
    assert posts.usable[best].all()
    return best


def _neighbour(bounds: Within, chosen: Booleans, random: np.random.Generator) -> Booleans | None:
    posts = bounds.posts
    other = chosen.copy()
    movable = np.flatnonzero(chosen & ~posts.fixed)
    has_room = costs(posts, chosen) + posts.cost[: posts.n].min() <= bounds.most_cost and (
        bounds.most_sites is None or chosen[: posts.n].sum() < bounds.most_sites
    )
    if has_room and (not len(movable) or random.random() < 0.5):
        free = np.flatnonzero(~chosen & posts.usable & (np.arange(posts.count) < posts.n))
        if len(free):
            other[random.choice(free)] = True
            return other
    if not len(movable):
        return None
    out = int(random.choice(movable))
    if out >= posts.n:
        free = posts.n + np.flatnonzero(~chosen[posts.n :])
    else:
        free = np.flatnonzero(posts.reaches[out, : posts.n] & ~chosen[: posts.n] & posts.usable[: posts.n])
    if len(free):
        other[out] = False
        other[random.choice(free)] = True
    return other


def best_worst_delivery(
    bounds: Within, start: Booleans, ticker: Ticker, doing: str, rounds: int = SOLVER_ROUNDS
) -> tuple[Booleans, bool]:
    """The set with the greatest least delivery, and whether that is proven."""
    posts = bounds.posts

    def value(chosen: Booleans) -> tuple[float, float]:
        delivery = node_deliveries(posts, chosen)
        return float(delivery.min()), float(np.minimum(delivery, 1.0).mean())

    ceiling = float(node_deliveries(posts, posts.usable).min())
    best = start
    if value(best)[0] < ceiling * (1 - EQUAL):
        best = swap_search(bounds, start, value, ticker, doing, ticker.settings.seed)
    while True:
        worst = value(best)[0]
        if worst >= ceiling * (1 - EQUAL):
            return best, True
        wanted = (worst * ceiling) ** 0.5 if worst < 0.9 * ceiling else worst * (1 + STEP)
        outcome = minimise(bounds.programme(wanted), ticker, doing, rounds, SOLVER_NODES)
        if outcome.best is not None and bounds.allows(outcome.best) and value(outcome.best)[0] > worst:
            best = outcome.best
        elif outcome.bound == np.inf and outcome.best is None:
            if wanted <= worst * (1 + 2 * STEP):
                return best, True
            ceiling = wanted
        else:
            return best, False


def least_air(bounds: Within, start: Booleans, ticker: Ticker, doing: str) -> tuple[Booleans, bool]:
    """At the same worst delivery the least air time, and whether that is proven.

    Where every gateway and relay repeats, that is the fewest relays; else the fewest links to all nodes together.
    """
    posts = bounds.posts
    worst = float(node_deliveries(posts, start).min())
    kept = Within(
        Needs(posts, worst * (1 - EQUAL)), bounds.most_cost, bounds.most_sites, bounds.most_hops_total, bounds.cuts
    )
    air = posts.problem.air
    repeats = air is not None and air.kind == "repeated"

    def value(chosen: Booleans) -> tuple[float, ...]:
        return (-float(chosen.sum()) if repeats else -hops_total(posts, chosen),)

    everywhere = posts.usable.copy()
    if not repeats and hops_total(posts, everywhere) >= hops_total(posts, start):
        return start, True
    if repeats and (posts.cost[: posts.n] == posts.cost[0]).all():
        return start, True
    best = swap_search(kept, start, value, ticker, doing, ticker.settings.seed, 0.5)
    programme = kept.programme(worst * (1 - EQUAL))
    if repeats:
        programme.objective = np.ones(posts.count)
        programme.rows.append(Row(np.ones(posts.count), high=float(best.sum()) - 1))
    else:
        programme.counts_hops = programme.hop_objective = True
        most = posts.problem.n_nodes * posts.problem.most_hops
        programme.rows.append(
            Row(np.zeros(posts.count), low=most - hops_total(posts, best) + 1 - EQUAL_COST, hop_factor=1.0)
        )
    outcome = _solve(programme, ticker, doing)
    if outcome.best is not None and kept.allows(outcome.best) and value(outcome.best) >= value(best):
        exact = -value(outcome.best)[0]
        offset = 0 if repeats else posts.problem.n_nodes * posts.problem.most_hops
        return outcome.best, outcome.bound + offset >= exact - 1 + EQUAL_COST
    return best, outcome.bound == np.inf


def _solve(programme: Programme, ticker: Ticker, doing: str) -> Outcome:
    return minimise(programme, ticker, doing, SOLVER_ROUNDS, SOLVER_NODES)


def others(bounds: Within, first: Booleans, count: int, ticker: Ticker) -> list[Booleans]:
    """Further sets of the same cost, each of which lacks a fifth of the sites, one at least, of every earlier one."""
    posts = bounds.posts
    found = [first]
    programme = bounds.programme(0.0)
    while len(found) <= count:
        before = found[-1][: posts.n] & ~posts.fixed[: posts.n]
        size = int(found[-1][: posts.n].sum())
        if not before.any():
            break
        factor = np.zeros(posts.count)
        factor[: posts.n] = before
        programme.rows.append(Row(factor, high=before.sum() - max(1, int(np.ceil(size / 5)))))
        programme.objective = posts.cost
        outcome = minimise(programme, ticker, "Looking for other placements", 60, 3000)
        if outcome.best is None or not bounds.allows(outcome.best):
            break
        found.append(outcome.best)
    return found[1:]
