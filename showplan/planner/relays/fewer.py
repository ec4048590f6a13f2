"""One relay fewer: the door to the compiled annealing, for one route to each node and sites of equal cost."""

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np

from showplan.planner.relays.annealing import WORD, Ground, anneal
from showplan.planner.relays.needs import Needs
from showplan.planner.relays.posts import Indices
from showplan.planner.relays.problem import Booleans

NEAR = 40  # sites to which a relay moves
ROWS = 500  # of the table of what sites have in common, at once


def can_anneal(needs: Needs) -> bool:
    """Whether the question is of the kind that annealing answers."""
    posts = needs.posts
    free = posts.cost[: posts.n][posts.usable[: posts.n]]
    return not needs.wants_two.any() and needs.least_delivery <= 0 and bool((free == free[:1]).all())


@dataclass(eq=False)
class Fewer:
    """Takes a relay away and moves others until every node has a route again; then the next.

    Where it does not come to that, the next attempt goes on from where the last one ended.
    """

    needs: Needs
    start: Booleans
    seed: int
    found: Booleans | None = None
    _chosen: Indices = field(init=False)
    _movable: int = field(init=False)
    _is_short: bool = False  # one relay was taken away and the rest does not serve every node yet
    _work: Future[None] | None = None

    def __post_init__(self) -> None:
        """Fixed sites stand last."""
        posts = self.needs.posts
        sites = np.flatnonzero(self.start[: posts.n])
        self._random = np.random.default_rng(self.seed)
        self._chosen = np.concatenate([sites[~posts.fixed[sites]], sites[posts.fixed[sites]]]).astype(np.int64)
        self._movable = int((~posts.fixed[sites]).sum())
        self._ground = ground_of(self.needs, posts.n + np.flatnonzero(self.start[posts.n :]))
        self._halt = np.zeros(1, dtype=bool)
        self._weight = np.ones(WORD * len(self._ground.everyone))

    def begin(self, moves: int) -> None:
        """Start the next moves, beside what else is at work."""
        thread = ThreadPoolExecutor(1)
        self._work = thread.submit(self._try, moves)
        thread.shutdown(wait=False)

    def end(self, at_once: bool = False) -> Booleans | None:
        """Wait for them, or break them off; the smallest set found yet, None where none is smaller than the start."""
        if self._work is not None:
            self._halt[0] = at_once
            self._work.result()
            self._halt[0] = False
            self._work = None
        return self.found

    def _try(self, moves: int) -> None:
        posts = self.needs.posts
        while moves > 0 and (self._movable or self._is_short):
            if not self._is_short:
                self._chosen = np.delete(self._chosen, self._random.integers(self._movable))
                self._movable -= 1
                self._is_short = True
            seed = int(self._random.integers(1 << 31))
            took = anneal(self._chosen, self._movable, self._ground, self._weight, moves, seed, self._halt)
            if not took:
                return
            moves -= took
            self._is_short = False
            self.found = self.start.copy()
            self.found[: posts.n] = False
            self.found[self._chosen] = True


def ground_of(needs: Needs, gateways: Indices) -> Ground:
    """What annealing asks of a problem of which these gateways (posts) stand."""
    posts = needs.posts
    usable = posts.usable[: posts.n]
    asking = needs.asking[~posts.hears[gateways][:, needs.asking].any(axis=0)]
    reaches = np.ascontiguousarray(posts.reaches[: posts.n, : posts.n])
    hears = posts.hears[: posts.n, asking] & usable[:, None]
    bits = np.zeros((posts.n, -(-len(asking) // WORD) * WORD), dtype=bool)
    bits[:, : len(asking)] = hears
    serves = np.packbits(bits, axis=1, bitorder="little").view("<u8").astype(np.uint64)
    return Ground(
        reaches=reaches,
        is_first=np.asarray(posts.reaches[gateways, : posts.n].any(axis=0)),
        serves=serves,
        usable=usable,
        everyone=np.bitwise_or.reduce(serves, axis=0),
        near=most_alike(np.concatenate([reaches | np.eye(posts.n, dtype=bool), hears], axis=1), NEAR),
        serving_at=np.concatenate([[0], np.cumsum(hears.sum(axis=0))]).astype(np.int64),
        serving=np.nonzero(hears.T)[1].astype(np.int64),
        most_hops=posts.problem.most_hops,
    )


def most_alike(traits: Booleans, most: int) -> Indices:
    """(rows, most or fewer) for each row of (rows, traits) the others that share the greatest part of theirs."""
    rows = len(traits)
    counted = traits.astype(np.float32)
    own = counted.sum(axis=1)
    found = np.zeros((rows, min(most, rows)), dtype=np.int64)
    for start in range(0, rows, ROWS):
        some = np.arange(start, min(start + ROWS, rows))
        both = counted[some] @ counted.T
        share = both / np.maximum(own[some, None] + own[None, :] - both, 1)
        share[np.arange(len(some)), some] = -1.0
        found[some] = np.argsort(-share, axis=1, kind="stable")[:, : found.shape[1]]
    return found
