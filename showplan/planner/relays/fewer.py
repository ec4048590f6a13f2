"""One relay fewer: the door to the compiled exchange of sites, for one route to each node and sites of equal cost."""

import threading
from dataclasses import dataclass, field

import numpy as np

from showplan.planner.relays.needs import Needs
from showplan.planner.relays.posts import Indices
from showplan.planner.relays.problem import Booleans
from showplan.planner.relays.swapping import exchange

WORD = 64  # nodes in one mask


def can_exchange(needs: Needs) -> bool:
    """Whether the question is of the kind that the exchange answers."""
    posts = needs.posts
    free = posts.cost[: posts.n][posts.usable[: posts.n]]
    return not needs.wants_two.any() and needs.least_delivery <= 0 and bool((free == free[:1]).all())


@dataclass(eq=False)
class Fewer:
    """Takes a relay away and exchanges others until every node has a route again; then the next.

    Where it does not come to that, the next attempt goes on from where the last one ended.
    """

    needs: Needs
    start: Booleans
    seed: int
    found: Booleans | None = None
    _chosen: Indices = field(init=False)
    _movable: int = field(init=False)
    _is_short: bool = False  # one relay was taken away and the rest does not serve every node yet
    _thread: threading.Thread | None = None

    def __post_init__(self) -> None:
        """Fixed sites stand last."""
        posts = self.needs.posts
        sites = np.flatnonzero(self.start[: posts.n])
        self._random = np.random.default_rng(self.seed)
        self._chosen = np.concatenate([sites[~posts.fixed[sites]], sites[posts.fixed[sites]]]).astype(np.int64)
        self._movable = int((~posts.fixed[sites]).sum())
        gateways = posts.n + np.flatnonzero(self.start[posts.n :])
        asking = self.needs.asking[~posts.hears[gateways][:, self.needs.asking].any(axis=0)]
        self._reaches = np.ascontiguousarray(posts.reaches[: posts.n, : posts.n])
        self._is_first = np.asarray(posts.reaches[gateways, : posts.n].any(axis=0))
        self._hears = np.ascontiguousarray(posts.hears[: posts.n, asking])
        self._serves = np.zeros((posts.n, -(-len(asking) // WORD)), dtype=np.uint64)
        for node in range(len(asking)):
            self._serves[:, node // WORD] |= self._hears[:, node].astype(np.uint64) << np.uint64(node % WORD)
        self._everyone = np.bitwise_or.reduce(self._serves, axis=0)

    def begin(self, rounds: int) -> None:
        """Start the next rounds, beside what else is at work."""
        self._thread = threading.Thread(target=self._try, args=(rounds,))
        self._thread.start()

    def end(self) -> Booleans | None:
        """Wait for them; the smallest set found yet, None where none is smaller than the start."""
        if self._thread is not None:
            self._thread.join()
            self._thread = None
        return self.found

    def _try(self, rounds: int) -> None:
        posts = self.needs.posts
        usable, most = posts.usable[: posts.n], posts.problem.most_hops
        while rounds > 0 and (self._movable or self._is_short):
            if not self._is_short:
                self._chosen = np.delete(self._chosen, self._random.integers(self._movable))
                self._movable -= 1
                self._is_short = True
            spare = np.append(self._chosen, 0)
            seed = int(self._random.integers(1 << 31))
            took = exchange(
                spare, self._movable, self._reaches, self._is_first, self._serves, self._hears, usable, most,
                self._everyone, rounds, seed,
            )  # fmt: skip
            self._chosen = spare[:-1]
            if not took:
                return
            rounds -= took
            self._is_short = False
            self.found = self.start.copy()
            self.found[: posts.n] = False
            self.found[self._chosen] = True
