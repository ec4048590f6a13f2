"""A lower bound on the cost from the levelled model: a linear programme with cuts, solved again and again.

The bound is computed anew from the prices of the cuts, so the solver's word does not count.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from showplan.planner.relays.cut_programme import CutProgramme
from showplan.planner.relays.halved import AtLeast, halved_cuts, matrix_of, one_of
from showplan.planner.relays.levelled import Levelled
from showplan.planner.relays.narrowest import narrowest
from showplan.planner.relays.problem import Floats

WRONG = 1e-7
SLOW = 0.1  # a round that raises the bound by less, in the dearest column, is followed by halved sums too
HALVED = 200  # of them in a round
IDLE = 2  # rounds that a cut may lie idle
INWARD = 0.5  # how far the point to cut off lies from the solution towards the mean of earlier ones
ROOM = 4_000_000  # entries of the cuts found at once


@dataclass(frozen=True, eq=False)
class Priced:
    """A solution, a proven bound, and by how much at least the bound rises with each copy (negative: left out)."""

    solution: Floats  # (copies,)
    bound: float
    reduced: Floats  # (copies,)


@dataclass(eq=False)
class LevelledBound:
    """Cuts of a levelled model and what they prove."""

    model: Levelled
    rows: list[AtLeast] = field(default_factory=list)
    idle: list[int] = field(default_factory=list)
    priced: Priced | None = None
    _known: set[bytes] = field(default_factory=set)
    _queue: list[int] = field(default_factory=list)
    _before: float = -np.inf  # the bound a round ago
    _middle: Floats | None = None
    _programme: CutProgramme = field(init=False)

    def __post_init__(self) -> None:
        """Nothing is held yet."""
        self._programme = CutProgramme(self.model.cost)

    def raise_by(self, rounds: int, batch: int, nested: int, on_round: Callable[[Priced], bool]) -> bool:
        """Rounds of cuts until `on_round` says stop; whether it ended early, so that more rounds are no use."""
        if self.priced is None:
            self._queue = list(range(self.model.ends.shape[0]))
            self.hold([one_of(self.model.ends[[row]].indices.astype(np.int64)) for row in self._queue])
            self.priced = self.solve()
            if on_round(self.priced):
                return True
        for _ in range(rounds):
            point = self.priced.solution
            self._middle = point if self._middle is None else 0.5 * self._middle + 0.5 * point
            held = 0
            for aim in (INWARD * self._middle + (1 - INWARD) * point, point):
                held += self.hold(
                    [row for row in self.broken(aim, nested, batch) if point[row.columns].sum() < 1 - WRONG]
                )
                if held:
                    break
                self._middle = point
            if self.priced.bound - self._before < SLOW * self.model.cost.max():
                held += self.hold(halved_cuts(self.rows, point, HALVED))
            if not held:
                return True
            self._before = self.priced.bound
            self._forget_idle()
            self.priced = self.solve()
            if on_round(self.priced):
                return True
        return False

    def broken(self, point: Floats, nested: int, batch: int) -> list[AtLeast]:
        """Cuts that a point breaks; nodes that had some last time come first."""
        model = self.model
        out, out_at = np.zeros(ROOM, dtype=np.int64), np.zeros(20_000, dtype=np.int64)
        broken = np.zeros(model.ends.shape[0], dtype=bool)
        order = np.array(self._queue, dtype=np.int64)
        heard, onward, ends = (
            (table.indptr.astype(np.int64), table.indices.astype(np.int64))
            for table in (model.heard, model.onward, model.ends)
        )
        count = narrowest(point, heard, onward, model.is_first, ends, order, nested, batch, out, out_at, broken)
        self._queue = [p for p in self._queue if broken[p]] + [p for p in self._queue if not broken[p]]
        return [one_of(np.sort(out[out_at[i] : out_at[i + 1]])) for i in range(count)]

    def hold(self, rows: list[AtLeast]) -> int:
        """Hold inequalities that are not held yet; how many these were."""
        held = 0
        for row in rows:
            if row.key not in self._known:
                self._known.add(row.key)
                self.rows.append(row)
                self.idle.append(0)
                held += 1
        return held

    def solve(self) -> Priced:
        """The linear programme under the rows held; prices that prove nothing (below 0) are left out of the bound."""
        cost = self.model.cost
        self._programme.add(self.rows[self._programme.held :])
        solution, prices = self._programme.solve()
        price = np.maximum(prices, 0.0)
        matrix, least = matrix_of(self.rows, len(cost))
        reduced = cost - matrix.T @ price
        return Priced(np.clip(solution, 0.0, 1.0), float(price @ least + np.minimum(reduced, 0.0).sum()), reduced)

    def _forget_idle(self) -> None:
        assert self.priced is not None
        solution = self.priced.solution
        now = [
            idle + 1 if solution[row.columns] @ row.factors > row.least + WRONG else 0
            for row, idle in zip(self.rows, self.idle, strict=True)
        ]
        gone = np.flatnonzero(np.array(now) >= IDLE)
        self._programme.remove(gone[gone < self._programme.held])
        self._known.difference_update(self.rows[place].key for place in gone)
        stays = [place for place in range(len(now)) if now[place] < IDLE]
        self.rows, self.idle = [self.rows[place] for place in stays], [now[place] for place in stays]
