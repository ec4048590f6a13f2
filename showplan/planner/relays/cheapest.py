"""First stage: the cheapest set that gives every node what it needs, and how cheap it cannot be beaten.

Growth and destroy-and-repair give sets, the relaxation gives a bound and says where to grow; then the exact search
over the posts. What remains between best and bound when the budget ends is told, not hidden.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from showplan.planner.relays.exact import Programme, Row, hops_total, minimise
from showplan.planner.relays.failing import Failures, SetCut
from showplan.planner.relays.growth import Grower, Improver, first_placement
from showplan.planner.relays.layers import Layers
from showplan.planner.relays.needs import Needs, costs
from showplan.planner.relays.placing import describe
from showplan.planner.relays.posts import Posts
from showplan.planner.relays.problem import Booleans, Floats
from showplan.planner.relays.relaxation import CutPool, Relaxed, tighten
from showplan.planner.relays.search import Ticker
from showplan.planner.relays.separation import cut_of

EQUAL_COST = 1e-6


@dataclass(eq=False)
class Cheapest:
    """The search for the cheapest set. `best` may be None; `bound` is infinite where there is proven to be none."""

    needs: Needs
    failures: Failures
    ticker: Ticker
    most_sites: int | None
    most_hops_total: float | None
    is_aside: bool = False  # another question than the one asked: the watcher does not hear of its sets
    best: Booleans | None = None
    bound: float = 0.0
    cuts: dict[SetCut, None] = field(default_factory=dict)
    proof_cuts: dict[SetCut, None] = field(default_factory=dict)  # hold for some cheapest set, not for every set
    nearest: Booleans | None = None  # serves every node, but breaks a limit on relays or air
    rising: Floats | None = None  # (posts,) bound on the cost of a set with this post, from the relaxation

    @property
    def posts(self) -> Posts:
        """The graph."""
        return self.needs.posts

    @property
    def is_proven(self) -> bool:
        """Whether nothing better is left."""
        return self.bound >= self.best_cost - EQUAL_COST

    @property
    def best_cost(self) -> float:
        """Cost of the best set; infinite without one."""
        return np.inf if self.best is None else costs(self.posts, self.best)

    def offer(self, chosen: Booleans) -> None:
        """Keep a set that serves every node, when it is better and within the limits."""
        if self.within_limits(chosen):
            if costs(self.posts, chosen) < self.best_cost - EQUAL_COST:
                self.best = chosen.copy()
                if not self.is_aside:
                    self.ticker.best = describe(self.posts, chosen)
        elif self.nearest is None or chosen[: self.posts.n].sum() < self.nearest[: self.posts.n].sum():
            self.nearest = chosen.copy()

    def within_limits(self, chosen: Booleans) -> bool:
        """Gateways, relays and air time."""
        standing = int(chosen[self.posts.n :].sum())
        if standing != self.posts.problem.gateways_standing:
            return False
        too_many = self.most_sites is not None and chosen[: self.posts.n].sum() > self.most_sites
        too_long = self.most_hops_total is not None and hops_total(self.posts, chosen) > self.most_hops_total
        return not (too_many or too_long)

    def raise_bound(self, bound: float) -> None:
        """A bound on the cost; rounded up where all costs are whole numbers."""
        if np.isfinite(bound) and (self.posts.cost == np.round(self.posts.cost)).all():
            bound = float(np.ceil(bound - EQUAL_COST))
        self.bound = max(self.bound, min(bound, self.best_cost))
        if not self.is_aside:
            self.ticker.bound = self.bound

    def grow_first(self) -> None:
        """The first placement; with a limit on air also ones with fewer hops allowed, which are valid too."""
        problem = self.posts.problem
        least = 1 if self.most_hops_total is not None else problem.most_hops
        for hops in range(problem.most_hops, least - 1, -1):
            needs = self.needs if hops == problem.most_hops else Needs(Posts(replace(problem, most_hops=hops)))
            chosen = first_placement(needs, self.posts.usable)
            if chosen is not None:
                self.offer(Grower(needs, self.posts.usable).prune(chosen, np.flatnonzero(chosen)))

    def improve(self, rounds: int, pool: Booleans, seed: int, doing: str) -> None:
        """Destroy and repair within a pool of posts."""
        start = self.best if self.best is not None else self.nearest
        if start is None:
            return
        current = start
        improver = Improver(Grower(self.needs, pool | start), np.random.default_rng(seed))
        for _ in range(rounds):
            if self.is_proven or self.ticker.tick(doing):
                return
            other = improver.round(current)
            if other is not None and (self.best is None or self.within_limits(other)):
                current = other
                self.offer(other)

    def relax(self, rounds: int, grow_every: int) -> None:
        """Raise the bound by cuts; every few rounds grow sets along the solution."""
        layers = Layers(self.needs, self.posts.usable)
        base = costs(self.posts, self.posts.fixed)
        pool = CutPool()
        made = [cut_of(layers, demand.ends, demand.routes) for demand in layers.demands]
        pool.add(cut for cut in made if cut is not None)
        random = np.random.default_rng(self.ticker.settings.seed)
        count = 0

        def on_round(relaxed: Relaxed) -> bool:
            nonlocal count
            self.raise_bound(base + relaxed.bound)
            if count % grow_every == 0:
                self._grow_along(layers, relaxed, random)
            count += 1
            return self.is_proven or self.ticker.tick("Raising the bound")

        relaxed = tighten(layers, pool, rounds, on_round)
        if relaxed is None:
            return
        self.raise_bound(base + relaxed.bound)
        self._grow_along(layers, relaxed, random)
        for cut in pool.known:
            posts = layers.post_of_column[list(cut.columns)]
            self.cuts[SetCut(tuple(int(post) for post in posts), int(cut.least))] = None
        self.rising = np.full(self.posts.count, -np.inf)
        self.rising[layers.post_of_column] = base + relaxed.bound + np.maximum(relaxed.reduced, 0.0)

    def improve_along(self, rounds: int, seed: int) -> None:
        """Destroy and repair among the posts that raise the bound least."""
        if self.rising is not None:
            least = self.rising[np.isfinite(self.rising)].min(initial=np.inf)
            pool = self.posts.fixed | (self.rising <= least + 0.1 * np.median(self.posts.problem.cost))
            self.improve(rounds, pool & self.posts.usable, seed, "Improving placements")

    def _grow_along(self, layers: Layers, relaxed: Relaxed, random: np.random.Generator) -> None:
        """Sets grown where the relaxation stands, then improved a little among posts that raise the bound least."""
        taken = np.zeros(self.posts.count)
        np.add.at(taken, layers.post_of_column, relaxed.solution)
        raised = np.full(self.posts.count, np.inf)
        np.minimum.at(raised, layers.post_of_column, np.maximum(relaxed.reduced, 0.0))
        pool = self.posts.fixed | (raised < 0.3 * np.median(self.posts.problem.cost))
        grower = Grower(self.needs, pool)
        price = 1.0 - 0.8 * np.minimum(taken, 1.0)
        for _ in range(4):
            if self.is_proven or self.ticker.tick("Growing placements"):
                return
            start = first_start(self, random)
            grown = grower.grow(start, lambda count: price * random.uniform(0.8, 1.2, count))
            if grown is not None:
                self.offer(grower.prune(grown, random.permutation(np.flatnonzero(grown))))
        self.improve(40, pool, int(random.integers(1 << 30)), "Improving placements")

    def prove(self, rounds: int, nodes: int) -> None:
        """The exact search over the posts, for a set that is cheaper than the best."""
        posts = self.posts
        problem = posts.problem
        allowed = posts.usable.copy()
        if self.rising is not None and self.best is not None:
            allowed &= self.rising < self.best_cost - EQUAL_COST
        sites = (np.arange(posts.count) < posts.n).astype(np.float64)
        rows = [Row(1.0 - sites, problem.gateways_standing, problem.gateways_standing)]
        if self.most_sites is not None:
            rows.append(Row(sites, high=self.most_sites))
        if self.best is not None:
            rows.append(Row(posts.cost, high=self._just_below()))
        if self.most_hops_total is not None:
            most = problem.n_nodes * problem.most_hops
            rows.append(Row(np.zeros(posts.count), low=most - self.most_hops_total, hop_factor=1.0))
        counts_hops = self.most_hops_total is not None
        programme = Programme(self.failures, posts.cost, allowed, rows, self.cuts | self.proof_cuts, counts_hops)
        grower = Grower(self.needs, posts.usable)

        def repair(chosen: Booleans) -> bool:
            before = self.best_cost
            grown = grower.grow(chosen)
            if grown is not None:
                self.offer(grower.prune(grown, np.flatnonzero(grown)))
            return self.best_cost < before

        while not self.is_proven:
            before = self.best_cost
            outcome = minimise(programme, self.ticker, "Proving", rounds, nodes, repair, self.raise_bound)
            self.cuts.update((cut, None) for cut in programme.cuts if cut not in self.proof_cuts)
            if outcome.best is not None:
                self.offer(outcome.best)
            self.raise_bound(outcome.bound)
            if self.best is None:
                self.bound = max(self.bound, outcome.bound)
            if self.best_cost >= before or self.ticker.seconds_left() <= 0:
                return
            programme.rows = [row for row in programme.rows if row.factor is not posts.cost]
            programme.rows.append(Row(posts.cost, high=self._just_below()))

    def _just_below(self) -> float:
        whole = (self.posts.cost == np.round(self.posts.cost)).all()
        return self.best_cost - (1.0 - EQUAL_COST if whole else 2 * EQUAL_COST)


def first_start(search: Cheapest, random: np.random.Generator) -> Booleans:
    """Fixed posts, and the gateways of the best set yet."""
    start = search.posts.fixed.copy()
    known = search.best if search.best is not None else search.nearest
    if known is not None:
        start[search.posts.n :] = known[search.posts.n :]
    else:
        free = search.posts.n + np.flatnonzero(~start[search.posts.n :])
        missing = search.posts.problem.gateways_standing - int(start[search.posts.n :].sum())
        start[random.permutation(free)[:missing]] = True
    return start
