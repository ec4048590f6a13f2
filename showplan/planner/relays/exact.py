"""The exact search: a 0-1 programme over the posts, solved again and again with cuts from each set that will not do.

Every solution is checked by graph search, never believed: the solver's word counts for bounds only.
"""

import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, csr_array

from showplan.planner.relays.failing import Failures, SetCut
from showplan.planner.relays.posts import FAR, Posts
from showplan.planner.relays.problem import Booleans, Floats
from showplan.planner.relays.search import Stopped, Ticker

SLACK = 1e-6
LONGEST_RUN_S = 60.0  # of the solver at once; after a cancel it runs out beside, so the process may end so much later


@dataclass(frozen=True, eq=False)
class Row:
    """low <= sum of factor * post + sum over (node, hops) columns of hop_factor <= high."""

    factor: Floats  # (posts,)
    low: float = -np.inf
    high: float = np.inf
    hop_factor: float = 0.0


@dataclass(eq=False)
class Programme:
    """Least objective over posts from `allowed`, `fixed` ones taken, under rows and cuts.

    With `counts_hops` there is a column for each node and number of links below the most allowed, 1 when the node is
    reached within so many; the objective then is the sum of hops over all nodes.
    """

    failures: Failures
    objective: Floats  # (posts,)
    allowed: Booleans
    rows: list[Row]
    cuts: dict[SetCut, None] = field(default_factory=dict)
    counts_hops: bool = False
    hop_objective: bool = False

    @property
    def posts(self) -> Posts:
        """The graph."""
        return self.failures.posts

    @property
    def _hop_columns(self) -> tuple[int, int]:
        problem = self.posts.problem
        return (problem.n_nodes, problem.most_hops - 1) if self.counts_hops else (0, 0)

    def hop_column(self, node: int, hops: int) -> int:
        """The column of a node being reached within so many links."""
        return self.posts.count + node * self._hop_columns[1] + hops - 1

    def add(self, cuts: Iterable[SetCut]) -> int:
        """How many cuts were new."""
        before = len(self.cuts)
        self.cuts.update(dict.fromkeys(cuts))
        return len(self.cuts) - before

    def broken_by(self, chosen: Booleans, values: Floats) -> list[SetCut]:
        """Cuts that a solution breaks: of the needs and, where hops count, of hops claimed but not had."""
        cuts = self.failures.cuts(chosen)
        if self.counts_hops:
            hops = self.posts.hops(chosen)
            nodes, limits = self._hop_columns
            for node in range(nodes):
                for limit in range(1, limits + 1):
                    if values[self.hop_column(node, limit)] > SLACK and hops[node] > limit:
                        cuts += self.failures.hop_cuts(chosen, node, limit)
        return cuts

    def arrays(self) -> dict[str, Any]:
        """The programme as `milp` takes it."""
        nodes, limits = self._hop_columns
        width = self.posts.count + nodes * limits
        objective = np.zeros(width)
        objective[: self.posts.count] = self.objective
        if self.hop_objective:
            objective[self.posts.count :] = -1.0
        lower = np.zeros(width)
        upper = np.ones(width)
        lower[: self.posts.count] = self.posts.fixed
        upper[: self.posts.count] = self.allowed | self.posts.fixed
        matrix, low, high = self._matrix(width)
        integrality = np.zeros(width)
        integrality[: self.posts.count] = 1
        return {
            "c": objective,
            "constraints": LinearConstraint(matrix, low, high),
            "bounds": Bounds(lower, upper),
            "integrality": integrality,
        }

    def _matrix(self, width: int) -> tuple[csr_array, Floats, Floats]:
        at: list[Any] = []
        places: list[Any] = []
        factors: list[Any] = []
        low: list[float] = []
        high: list[float] = []
        for cut in self.cuts:
            posts = np.array(cut.posts, dtype=np.intp)
            factor = np.where(posts >= self.posts.n, cut.least, 1).astype(np.float64)
            least = float(cut.least)
            if cut.hop is not None:
                posts, factor, least = np.append(posts, self.hop_column(*cut.hop)), np.append(factor, -least), 0.0
            at.append(np.full(len(posts), len(low)))
            places.append(posts)
            factors.append(factor)
            low.append(least)
            high.append(np.inf)
        for row in self.rows:
            full = np.zeros(width)
            full[: self.posts.count] = row.factor
            full[self.posts.count :] = row.hop_factor
            used = np.flatnonzero(full)
            at.append(np.full(len(used), len(low)))
            places.append(used)
            factors.append(full[used])
            low.append(row.low)
            high.append(row.high)
        shape = (len(low), width)
        if not low:
            return csr_array(shape), np.zeros(0), np.zeros(0)
        matrix = coo_array((np.concatenate(factors), (np.concatenate(at), np.concatenate(places))), shape=shape)
        return csr_array(matrix), np.array(low), np.array(high)


@dataclass(frozen=True, eq=False)
class Outcome:
    """`best` is None where nothing was found; `bound` is infinite where there is proven to be nothing."""

    best: Booleans | None
    bound: float


def minimise(
    programme: Programme,
    ticker: Ticker,
    doing: str,
    rounds: int,
    nodes: int,
    on_set: Callable[[Booleans], bool] | None = None,
    on_bound: Callable[[float], None] | None = None,
) -> Outcome:
    """Solve, check, cut, again. `on_set` hears each set that fails a need and returns whether to stop.

    `rounds` and `nodes` (of the branch-and-bound tree, each round) are the budget.
    """
    bound = -np.inf
    for _ in range(rounds):
        seconds = ticker.seconds_left()
        if seconds <= 0:
            break
        options = {"time_limit": min(max(seconds, 0.1), LONGEST_RUN_S), "node_limit": nodes, "mip_rel_gap": 0.0}
        try:
            result = _in_background(programme.arrays() | {"options": options}, ticker, doing)
        except Stopped:
            break
        if result.status == 2:
            return Outcome(None, np.inf)
        if result.mip_dual_bound is not None and np.isfinite(result.mip_dual_bound):
            bound = max(bound, float(result.mip_dual_bound))
            if on_bound is not None:
                on_bound(bound)
        if result.x is None:
            break
        chosen = programme.posts.fixed.copy()
        chosen[np.round(result.x[: programme.posts.count]) > 0] = True
        cuts = programme.broken_by(chosen, result.x)
        if not cuts:
            return Outcome(chosen, bound)
        if (on_set is not None and on_set(chosen)) or not programme.add(cuts):
            break
    return Outcome(None, bound)


def _in_background(arguments: dict[str, Any], ticker: Ticker, doing: str) -> Any:
    """Run the solver beside, so that progress is told and a cancel heard while it works."""
    result: list[Any] = []
    fault: list[BaseException] = []

    def work() -> None:
        try:
            result.append(milp(**arguments))
        except BaseException as error:  # told to the caller below
            fault.append(error)

    thread = threading.Thread(target=work)  # not a daemon: the solver must not be torn down at work
    thread.start()
    while thread.is_alive():
        thread.join(0.5)
        if thread.is_alive() and ticker.tick(doing):
            raise Stopped
    if fault:
        raise fault[0]
    return result[0]


def hops_total(posts: Posts, chosen: Booleans) -> float:
    """The sum over nodes of the fewest links to each; infinite where one has no route."""
    hops = posts.hops(chosen)
    return np.inf if (hops == FAR).any() else float(hops.sum())
