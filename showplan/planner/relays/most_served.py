"""When relays are too few to serve every node: which ones serve most nodes, and how many no choice can serve.

With every site next to a gateway this is the maximal covering location problem (R. Church and C. ReVelle, Papers of the
Regional Science Association 32, 1974). Here relays may stand in a row: a node counts in the 0-1 programme only where
the posts keep the node's cuts, which are found as for a placement that serves all.
"""

from dataclasses import replace
from typing import Any

import numpy as np

from showplan.planner.relays.answer import MostServed
from showplan.planner.relays.exact import Programme, Row, minimise
from showplan.planner.relays.failing import Failures, SetCut
from showplan.planner.relays.growth import Grower
from showplan.planner.relays.needs import Needs
from showplan.planner.relays.posts import FAR, Posts, members
from showplan.planner.relays.problem import Booleans, Floats, RelayProblem
from showplan.planner.relays.search import Ticker
from showplan.planner.relays.watch import Settings, Unwatched, Watch

DOING = "Serving as many nodes as the relays can"
ROUNDS = 200
TREE_NODES = 50_000
LARGEST_REMOVED = 4  # relays taken away at once in the search by exchange


def most_served(
    problem: RelayProblem, relays: int, *, watch: Watch | None = None, settings: Settings | None = None
) -> MostServed | None:
    """The most nodes that at most so many relays serve, each as it wants; None where more relays must stand.

    `most_relays` and the air limit of the problem do not count here.
    """
    return serve_most(Needs(Posts(problem)), relays, Ticker(watch or Unwatched(), settings or Settings()))


def serve_most(needs: Needs, relays: int, ticker: Ticker, bound: int | None = None) -> MostServed | None:
    """As `most_served`, within a search that is under way; more than `bound` nodes are known to be too many."""
    posts = needs.posts
    if posts.fixed[: posts.n].sum() > relays:
        return None
    search = _MostNodes(needs, relays, ticker)
    if bound is not None:
        search.bound = min(search.bound, bound)
    search.fill()
    search.prove()
    best = search.thinned()
    return MostServed(
        relays_allowed=relays,
        sites=members(best[: posts.n]),
        gateways=members(best[posts.n :]),
        nodes=members(needs.served(best)),
        bound=search.bound,
    )


class _Programme(Programme):
    """Posts, and for each node a column that may be 1 only where it is served; as many of these as can be."""

    @property
    def _hop_columns(self) -> tuple[int, int]:
        return self.posts.problem.n_nodes, 1

    def hop_column(self, node: int, hops: int) -> int:
        """The column of a node being served."""
        return self.posts.count + node

    def broken_by(self, chosen: Booleans, values: Floats) -> list[SetCut]:
        """Cuts of the nodes that the solution counts, but the set does not serve."""
        counted = np.flatnonzero(np.round(values[self.posts.count :]))
        most = self.posts.problem.most_hops
        return [replace(cut, hop=(node, most)) for node, cut in self.failures.cuts_of(chosen, counted)]

    def arrays(self) -> dict[str, Any]:
        """The programme as `milp` takes it; half a route is no route, so the nodes' columns are whole numbers too."""
        arrays = super().arrays()
        return arrays | {"integrality": np.ones_like(arrays["integrality"])}


class _MostNodes:
    """The best set yet, and how many nodes no set serves more than."""

    def __init__(self, needs: Needs, relays: int, ticker: Ticker) -> None:
        self.needs, self.relays, self.ticker = needs, relays, ticker
        self.posts = needs.posts
        self.bound = int(needs.served(self.posts.usable).sum())
        self._growers = [Grower(part, self.posts.usable) for _, part in needs.parts] or [
            Grower(needs, self.posts.usable)
        ]
        self._random = np.random.default_rng(ticker.settings.seed)
        self.best = self._start()
        self.served = self._count(self.best)

    @property
    def is_proven(self) -> bool:
        """Whether nothing better is left."""
        return self.served >= self.bound

    def offer(self, chosen: Booleans) -> bool:
        """Keep a set that serves more; whether that is proven to be the most."""
        count = self._count(chosen)
        if count > self.served:
            self.best, self.served = chosen.copy(), count
        return self.is_proven

    def fill(self) -> None:
        """Relays where they serve most for their number; then some away, and filled again."""
        current = self._filled(self.best, 1.0)
        self.offer(current)
        most = self._count(current)
        for _ in range(self.ticker.settings.improvement_rounds // 4):
            if self.is_proven or self.ticker.tick(DOING):
                return
            other = self._filled(self._thrown_out(current), self._random.uniform(0.7, 1.3, self.posts.count))
            count = self._count(other)
            if count >= most:
                current, most = other, count
                self.offer(other)

    def prove(self) -> None:
        """The exact search, for a set that serves more than the best."""
        if self.is_proven:
            return
        posts = self.posts
        sites = (np.arange(posts.count) < posts.n).astype(np.float64)
        standing = posts.problem.gateways_standing
        rows = [Row(1.0 - sites, standing, standing), Row(sites, high=self.relays)]
        programme = _Programme(
            Failures(self.needs), np.zeros(posts.count), posts.usable, rows, counts_hops=True, hop_objective=True
        )
        everything = np.ones(posts.problem.n_nodes)
        programme.add(programme.broken_by(self._start(), np.concatenate([np.zeros(posts.count), everything])))
        outcome = minimise(programme, self.ticker, DOING, ROUNDS, TREE_NODES, self.offer, self._lower)
        if outcome.best is not None:
            self.offer(outcome.best)

    def thinned(self) -> Booleans:
        """The best set without relays that serve nobody."""
        chosen = self.best.copy()
        for site in np.flatnonzero(chosen[: self.posts.n] & ~self.posts.fixed[: self.posts.n]):
            chosen[site] = False
            chosen[site] = self._count(chosen) < self.served
        return chosen

    def _lower(self, objective: float) -> None:
        self.bound = min(self.bound, max(int(np.floor(-objective + 1e-6)), self.served))

    def _count(self, chosen: Booleans) -> int:
        return int(self.needs.served(chosen).sum())

    def _start(self) -> Booleans:
        """What stands in any case; gateways to choose by the nodes they reach over all sites, then at random."""
        chosen = self.posts.fixed.copy()
        missing = self.posts.problem.gateways_standing - int(chosen[self.posts.n :].sum())
        if missing > 0:
            reached = (self.posts.hops_to_node[self.posts.n :] < FAR).sum(axis=1)
            chosen[self.posts.n + np.argsort(-reached, kind="stable")[:missing]] = True
        return chosen

    def _thrown_out(self, chosen: Booleans) -> Booleans:
        """The set without some relays; now and then with another gateway, where gateways are to choose."""
        other = chosen.copy()
        n, fixed = self.posts.n, self.posts.fixed
        movable = np.flatnonzero(chosen[:n] & ~fixed[:n])
        count = min(len(movable), int(self._random.integers(1, LARGEST_REMOVED + 1)))
        other[self._random.choice(movable, count, replace=False)] = False
        free = n + np.flatnonzero(~chosen[n:])
        if len(free) and self._random.random() < 0.3:
            other[self._random.choice(n + np.flatnonzero(chosen[n:]))] = False
            other[self._random.choice(free)] = True
        return other

    def _filled(self, chosen: Booleans, noise: Any) -> Booleans:
        """Ways to more nodes, the most nodes a relay first, while there are relays left."""
        chosen = chosen.copy()
        price = np.ones(self.posts.count) * noise
        while True:
            left = self.relays - int(chosen[: self.posts.n].sum())
            ways = [way for grower in self._growers if (way := _next_way(grower, chosen, price, left)) is not None]
            if not ways:
                return chosen
            chosen[min(ways)[1]] = True


def _next_way(grower: Grower, chosen: Booleans, price: Floats, left: int) -> tuple[float, list[int]] | None:
    """Price for each node that it serves and posts of the cheapest way to more nodes; None without one."""
    posts, needs = grower.posts, grower.needs
    missing = ~needs.served(chosen)
    first = missing & (posts.hops(chosen) == FAR)
    extra, paid = grower.extra_costs(chosen, price)
    gain = posts.hears_sparse @ first.astype(np.float64)
    for post in np.argsort(np.where(gain > 0, extra[-1] / np.maximum(gain, 1), np.inf), kind="stable"):
        if not (gain[post] > 0 and np.isfinite(extra[-1, post])):
            break
        way = grower.way_to(int(post), extra, paid)
        if np.count_nonzero(~chosen[way]) <= left:
            return float(extra[-1, post] / gain[post]), way
    beside = [grower.way_beside(int(node), chosen, price) for node in np.flatnonzero(missing & ~first)]
    open_ways = [way for way in beside if way is not None and np.count_nonzero(~chosen[way]) <= left]
    return min(((float(price[way].sum()), way) for way in open_ways), default=None)
