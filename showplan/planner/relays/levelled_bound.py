"""A lower bound on the cost from the levelled model: a linear programme with cuts, solved again and again.

Columns are links: a relay needs one other that it hears, and of what it hears a placement may choose one for all nodes
behind it. That is far more than to ask each node for a way by itself (13 percent more in a wide hall): nodes that
share half a relay must share the half way to it as well. Cuts (far sides) and links are brought in as they are lacking.
The bound is computed anew from the prices of the cuts, so the solver's word does not count.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from showplan.planner.relays.levelled import Levelled
from showplan.planner.relays.link_programme import LinkProgramme
from showplan.planner.relays.narrowest import TINY, narrowest
from showplan.planner.relays.posts import Indices
from showplan.planner.relays.pricing import Priced, Prices, priced
from showplan.planner.relays.problem import Booleans, Floats

WRONG = 1e-6
AT_FIRST = 3  # links to each copy before prices bring more
IDLE = 2  # rounds that a cut may lie idle
CLEARED_EVERY = 4  # rounds until links are taken away that
DEAR = 0.2  # of the dearest copy they would add at least
INWARD = 0.5  # how far the point to cut off lies from the solution towards the mean of earlier ones
TRUSTED = 0.7  # how far prices tried lie from the present ones towards the best


@dataclass(eq=False)
class LevelledBound:
    """Cuts of a levelled model and what they prove."""

    model: Levelled
    best: Priced | None = None  # with the highest bound yet
    _programme: LinkProgramme = field(init=False)
    _solution: Floats = field(init=False)
    _known: set[bytes] = field(default_factory=set)
    _round: int = 0

    def __post_init__(self) -> None:
        """Each node wants a link to a copy that serves it."""
        model = self.model
        nodes, copies = model.ends.shape
        self._programme = LinkProgramme(model.cost)
        self._programme.add_links(*model.likely_links(AT_FIRST))
        self._queue = np.arange(nodes)
        self._idle = np.zeros(0, dtype=np.int64)
        far = np.zeros((nodes, copies + 1), dtype=bool)
        far[:, :-1] = model.ends.toarray() > 0
        self._hold(far)
        self._solve()
        self._middle = self._solution

    @property
    def far(self) -> Booleans:
        """(cuts, copies + 1) the far sides held."""
        return self._programme.far

    def raise_by(self, rounds: int, batch: int, on_round: Callable[[Priced], bool]) -> bool:
        """Rounds of cuts until `on_round` says stop; whether it ended early, so that more rounds are no use."""
        for _ in range(rounds):
            self._round += 1
            links = self._programme.add_links(*self._price())
            self._middle = np.append(self._middle, np.zeros(links))
            self._solution = np.append(self._solution, np.zeros(links))
            cuts = self._cut(batch)
            assert self.best is not None
            if on_round(self.best) or not (cuts or links):
                return True
            self._solve()
            self._clear()
        return False

    def _price(self) -> tuple[Indices, Indices]:
        """Try the present prices, and some nearer to the best; the links that lack."""
        now = priced(self.model, Prices(self.far, self._prices).cleared())
        tried = [now]
        if self.best is not None:
            tried.append(priced(self.model, self.best.prices.towards(now.prices, TRUSTED)))
        for one in tried:
            if self.best is None or one.bound > self.best.bound:
                self.best = one
        senders, receivers = zip(*(one.lacking() for one in tried), strict=True)
        return np.concatenate(senders), np.concatenate(receivers)

    def _cut(self, batch: int) -> int:
        """Hold cuts that the solution breaks, first those that a point further inside breaks too; how many."""
        self._middle = 0.5 * self._middle + 0.5 * self._solution
        for aim in (INWARD * self._middle + (1 - INWARD) * self._solution, self._solution):
            far = self.broken(aim, batch)
            held = self._hold(far[self._sums(far) < 1 - WRONG])
            if held:
                return held
            self._middle = self._solution
        return 0

    def broken(self, point: Floats, batch: int) -> Booleans:
        """Far sides of cuts that a point (links,) breaks; nodes that had some last time come first."""
        model, programme = self.model, self._programme
        used = np.flatnonzero(point > TINY)
        far = np.zeros((2 * batch, len(model.post) + 1), dtype=bool)
        broken = np.zeros(model.ends.shape[0], dtype=bool)
        heard, ends = (
            (table.indptr.astype(np.int64), table.indices.astype(np.int64)) for table in (model.heard, model.ends)
        )
        count = narrowest(
            programme.sender[used], programme.receiver[used], point[used], heard, ends, self._queue, batch, far, broken
        )
        last = self._queue[broken[self._queue]]
        self._queue = np.concatenate([np.roll(last, -len(last) // 2), self._queue[~broken[self._queue]]])
        return far[:count]

    def _sums(self, far: Booleans) -> Floats:
        """What the solution has of the links into each far side."""
        used = np.flatnonzero(self._solution > TINY)
        sender, receiver = self._programme.sender[used], self._programme.receiver[used]
        return np.asarray((far[:, receiver] & ~far[:, sender]) @ self._solution[used])

    def _hold(self, far: Booleans) -> int:
        """Hold the cuts that are not held yet; how many these were."""
        keys = [side.tobytes() for side in np.packbits(far, axis=1)]
        new = {key: place for place, key in enumerate(keys) if key not in self._known}
        self._known.update(new)
        self._programme.add_cuts(far[list(new.values())])
        self._idle = np.append(self._idle, np.zeros(len(new), dtype=np.int64))
        return len(new)

    def _solve(self) -> None:
        self._solution, self._adds, sums, self._prices = self._programme.solve()
        self._idle = np.where(sums > 1 + WRONG, self._idle + 1, 0)

    def _clear(self) -> None:
        """Let go of cuts that lie idle, and now and then of links that are too dear."""
        gone = self._idle >= IDLE
        self._known.difference_update(side.tobytes() for side in np.packbits(self.far[gone], axis=1))
        self._programme.remove_cuts(gone)
        self._idle, self._prices = self._idle[~gone], self._prices[~gone]
        if self._round % CLEARED_EVERY == 0:
            dear = (self._adds > DEAR * self.model.cost.max()) & (self._solution <= TINY)
            self._programme.remove_links(dear)
            self._solution, self._middle = self._solution[~dear], self._middle[~dear]
