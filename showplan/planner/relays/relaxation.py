"""The lower bound: a linear programme over the columns, with cuts added until none is broken or the budget is spent."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_array

from showplan.planner.relays.layers import Layers
from showplan.planner.relays.problem import Floats
from showplan.planner.relays.separation import Cut, broken_cuts

TIGHT = 1e-6
AGE = 4  # rounds that a cut may lie idle
INWARD = 0.5  # how far the point to cut off lies from the solution towards the mean of earlier ones


@dataclass
class CutPool:
    """All cuts found, and which of them the programme holds; a cut that lies idle is set aside, not forgotten."""

    held: list[Cut] = field(default_factory=list)
    idle: list[int] = field(default_factory=list)
    known: dict[Cut, None] = field(default_factory=dict)

    def add(self, cuts: Iterable[Cut]) -> int:
        """Hold new cuts; how many were not held already."""
        have = set(self.held)
        new = [cut for cut in dict.fromkeys(cuts) if cut not in have]
        self.held += new
        self.idle += [0] * len(new)
        self.known.update(dict.fromkeys(new))
        return len(new)

    def age(self, slack: Floats) -> None:
        """Count idle rounds by the slack of each held cut, and set aside those idle for long."""
        self.idle = [0 if gap < TIGHT else idle + 1 for idle, gap in zip(self.idle, slack, strict=True)]
        kept = [place for place, idle in enumerate(self.idle) if idle < AGE]
        self.held = [self.held[place] for place in kept]
        self.idle = [self.idle[place] for place in kept]


def rows_of(cuts: list[Cut], columns: int) -> tuple[csr_array, Floats]:
    """Matrix and left-hand limits of cuts."""
    parts = [cut.columns + cut.double for cut in cuts]
    offsets = np.cumsum([0, *map(len, parts)])
    places = np.array([column for part in parts for column in part], dtype=np.int64)
    matrix = csr_array((np.ones(len(places)), places, offsets), shape=(len(cuts), columns))
    matrix.sum_duplicates()
    return matrix, np.array([cut.least for cut in cuts])


@dataclass(frozen=True, eq=False)
class Relaxed:
    """Solution and proven bound of the programme with the cuts it holds; what is fixed is not counted."""

    solution: Floats
    bound: float
    reduced: Floats  # (columns,) by how much the bound rises, at least, when a column is taken; negative: left out


def solve_relaxation(cost: Floats, cuts: list[Cut], extra: tuple[csr_array, Floats] | None = None) -> Relaxed | None:
    """Least cost with columns from 0 to 1; the bound is computed anew from the prices of the cuts.

    `extra` are further rows, at most. None where the cuts contradict each other.
    """
    matrix, least = rows_of(cuts, len(cost))
    result = linprog(cost, A_ub=-matrix, b_ub=-least, bounds=(0, 1), method="highs-ds")
    if result.x is None:
        if result.status == 2:
            return None
        raise RuntimeError(f"The linear programme ended without an answer: {result.message}")
    price = np.maximum(-result.ineqlin.marginals, 0.0)
    reduced = cost - matrix.T @ price
    bound = float(price @ least + np.minimum(reduced, 0.0).sum())
    return Relaxed(result.x, bound, reduced)


def tighten(
    layers: Layers,
    pool: CutPool,
    rounds: int,
    on_round: Callable[[Relaxed], bool],
    batch: int = 80,
) -> Relaxed | None:
    """Add broken cuts for some rounds; `on_round` hears every solution and returns whether to stop."""
    demands = layers.demands
    queue = list(range(len(demands)))
    middle: Floats | None = None
    relaxed = solve_relaxation(layers.cost, pool.held)
    for _ in range(rounds):
        if relaxed is None or on_round(relaxed):
            break
        point = relaxed.solution
        middle = point if middle is None else 0.5 * middle + 0.5 * point
        added = 0
        for aim in (INWARD * middle + (1 - INWARD) * point, point):
            cuts, broken = broken_cuts(layers, aim, demands, queue, 3, batch)
            useful = [cut for cut in cuts if cut.value(point) < cut.least - TIGHT]
            added = pool.add(useful)
            if added:
                break
            middle = point
        if not added:
            break
        kept = set(broken)
        queue = [p for p in queue if p in kept] + [p for p in queue if p not in kept]
        newer = solve_relaxation(layers.cost, pool.held)
        if newer is None:
            return None
        if newer.bound > relaxed.bound + 1e-4:
            matrix, least = rows_of(pool.held, len(layers.cost))
            pool.age(matrix @ newer.solution - least)
        relaxed = newer
    return relaxed
