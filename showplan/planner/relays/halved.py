"""Cuts from cuts: three inequalities added, halved and rounded up.

Sums of valid inequalities over columns that are whole and not negative stay valid when they are halved and every
factor is rounded up; the least sum then is a whole number, so it may be rounded up too (Chvatal-Gomory). That gains
where the least sum is odd and the solution has little in the columns of odd factor: three chains shared by halves, for
one, of which any two nodes use two.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from showplan.planner.relays.compiled import compiled
from showplan.planner.relays.posts import Indices
from showplan.planner.relays.problem import Floats

USED = 1e-7
NEAR = 0.05  # how far from tight an inequality may be
GAIN = 0.02  # a new inequality counts as broken by so much
MOST_FOUND = 4000
USES = 4  # how often one inequality serves in a round


@dataclass(frozen=True, eq=False)
class AtLeast:
    """Sum of factors times columns, at least `least`; all are whole numbers above 0, columns ascend."""

    columns: Indices
    factors: Floats
    least: float

    @property
    def key(self) -> bytes:
        """Equal for equal inequalities."""
        return self.columns.tobytes() + self.factors.tobytes()


def one_of(columns: Indices) -> AtLeast:
    """At least one of these."""
    return AtLeast(columns, np.ones(len(columns)), 1.0)


def matrix_of(rows: list[AtLeast], width: int) -> tuple[csr_array, Floats]:
    """Matrix and least sums."""
    offsets = np.cumsum([0, *(len(row.columns) for row in rows)])
    columns = np.concatenate([row.columns for row in rows])
    factors = np.concatenate([row.factors for row in rows])
    return csr_array((factors, columns, offsets), shape=(len(rows), width)), np.array([row.least for row in rows])


def halved(parts: list[AtLeast]) -> AtLeast:
    """The sum of inequalities, halved and rounded up."""
    every = np.concatenate([part.columns for part in parts])
    columns, place = np.unique(every, return_inverse=True)
    total = np.bincount(place, np.concatenate([part.factors for part in parts]))
    return AtLeast(columns, np.ceil(total / 2), float(np.ceil(sum(part.least for part in parts) / 2)))


def halved_cuts(rows: list[AtLeast], solution: Floats, most: int) -> list[AtLeast]:
    """Up to `most` such inequalities that a solution breaks, those broken most first."""
    matrix, least = matrix_of(rows, len(solution))
    slack = matrix @ solution - least
    near = np.flatnonzero(slack < NEAR)
    used = np.flatnonzero(solution > USED)
    odd = np.asarray(matrix[near][:, used].toarray() % 2 == 1)
    shared = (odd * solution[used]) @ odd.T.astype(np.float64)
    out, gain = np.zeros((MOST_FOUND, 3), dtype=np.int64), np.zeros(MOST_FOUND)
    count = _triples(shared, odd, solution[used], np.maximum(slack[near], 0.0), least[near] % 2 == 1, out, gain)
    taken: list[AtLeast] = []
    uses = np.zeros(len(near), dtype=np.int64)
    for place in np.argsort(-gain[:count], kind="stable"):
        three = out[place]
        if uses[three].max() < USES:
            uses[three] += 1
            taken.append(halved([rows[near[i]] for i in three]))
            if len(taken) >= most:
                break
    return taken


@compiled
def _triples(
    shared: NDArray[np.float64],
    odd: NDArray[np.bool_],
    solution: NDArray[np.float64],
    slack: NDArray[np.float64],
    is_odd: NDArray[np.bool_],
    out: NDArray[np.int64],
    gain: NDArray[np.float64],
) -> int:
    """Write triples whose least sums add up to an odd number and which gain; how many.

    `shared` (rows, rows): what the solution has in columns odd in both. A halved sum gains (1 - slack - odd) / 2.
    When all places are taken the search ends; rows are begun at in turn, each with its share of the places.
    """
    rows, columns = odd.shape
    count = 0
    for a in range(rows):
        own = 0
        most = 4 + len(out) // max(rows, 1)
        for b in range(a + 1, rows):
            if own >= most:
                break
            two = shared[a, a] + shared[b, b] - 2 * shared[a, b]
            if shared[a, b] < 0.05 or two < 0.05:
                continue
            for c in range(b + 1, rows):
                if is_odd[a] ^ is_odd[b] ^ is_odd[c] == 0:
                    continue
                spare = 1 - 2 * GAIN - slack[a] - slack[b] - slack[c]
                weight = two + shared[c, c] - 2 * (shared[a, c] + shared[b, c])
                if weight >= spare:
                    continue
                for j in range(columns):
                    if odd[a, j] and odd[b, j] and odd[c, j]:
                        weight += 4 * solution[j]
                        if weight >= spare:
                            break
                if weight < spare:
                    out[count, 0], out[count, 1], out[count, 2] = a, b, c
                    gain[count] = spare - weight
                    count += 1
                    own += 1
                    if count == len(out):
                        return count
                    if own >= most:
                        break
    return count
