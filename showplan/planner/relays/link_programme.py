"""The linear programme that holds the cuts: cuts and links come and go, each solution goes on from the last basis."""

import highspy
import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array, csr_array

from showplan.planner.relays.posts import Indices
from showplan.planner.relays.problem import Booleans, Floats

OPTIONS: dict[str, bool | int | str] = {
    "threads": 1,
    "solver": "simplex",
    "simplex_strategy": 1,  # dual
    "presolve": "off",  # the basis is one of the programme as it stands
}


class _QuietSolver(highspy.Highs):
    """Says nothing: by itself it prints its name into the output of a command as soon as it is made."""

    def enableCallbacks(self) -> None:  # noqa: N802 (the solver calls it so, first of all)
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()  # type: ignore[no-untyped-call]


class LinkProgramme:
    """Least cost of links, none below 0, such that into each far side there is one link at least.

    A link costs what its receiver costs: a relay hears one other. `far` (cuts, copies + 1) are the far sides, with a
    last column for the gateways, which are in none; `sender` and `receiver` (links,) are copies or the gateways.
    """

    def __init__(self, cost: Floats) -> None:
        """`cost` (copies,). For want of links a cut may be kept at a price above that of any placement."""
        self.cost = cost
        self.sender = self.receiver = np.zeros(0, dtype=np.int64)
        self.far = np.zeros((0, len(cost) + 1), dtype=bool)
        self._highs = _QuietSolver()  # type: ignore[no-untyped-call]
        for name, value in OPTIONS.items():
            self._highs.setOptionValue(name, value)
        self._highs.addCol(1.0 + float(cost.sum()), 0.0, highspy.kHighsInf, 0, [], [])

    def add_links(self, sender: Indices, receiver: Indices) -> int:
        """Allow more links; how many of them are new."""
        width = len(self.cost) + 1
        ours, theirs = self.sender * width + self.receiver, sender * width + receiver
        new = np.setdiff1d(theirs, ours)
        sender, receiver = new // width, new % width
        if len(new):
            entries = csc_array(self.far[:, receiver] & ~self.far[:, sender])
            most = np.full(len(new), highspy.kHighsInf)
            self._highs.addCols(len(new), self.cost[receiver], np.zeros(len(new)), most, *_parts(entries))
            self.sender = np.concatenate([self.sender, sender])
            self.receiver = np.concatenate([self.receiver, receiver])
        return len(new)

    def add_cuts(self, far: Booleans) -> None:
        """Hold more cuts, behind those held."""
        if len(far):
            entries = csr_array(np.insert(far[:, self.receiver] & ~far[:, self.sender], 0, True, axis=1))
            most = np.full(len(far), highspy.kHighsInf)
            self._highs.addRows(len(far), np.ones(len(far)), most, *_parts(entries))
            self.far = np.concatenate([self.far, far])

    def remove_links(self, gone: Booleans) -> None:
        """Allow these links no longer; those behind move up."""
        places = np.flatnonzero(gone)
        if len(places):
            self._highs.deleteCols(len(places), (places + 1).astype(np.int32))
            self.sender, self.receiver = self.sender[~gone], self.receiver[~gone]

    def remove_cuts(self, gone: Booleans) -> None:
        """Let go of these cuts; those behind move up."""
        places = np.flatnonzero(gone)
        if len(places):
            self._highs.deleteRows(len(places), places.astype(np.int32))
            self.far = self.far[~gone]

    def solve(self) -> tuple[Floats, Floats, Floats, Floats]:
        """Solution (links,), what links would add to the cost (links,), sums (cuts,) and prices (cuts,) of the cuts.

        All as the solver tells them: nothing of it is proven.
        """
        self._highs.run()
        if self._highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            self._highs.clearSolver()  # lost its way from the last basis: from none
            self._highs.run()
        status = self._highs.getModelStatus()
        if status != highspy.HighsModelStatus.kOptimal:
            told = self._highs.modelStatusToString(status)
            raise RuntimeError(f"The linear programme of the cuts ended without an answer: {told}")
        answer = self._highs.getSolution()
        solution, adds = np.array(answer.col_value), np.array(answer.col_dual)
        return solution[1:], adds[1:], np.array(answer.row_value), np.maximum(answer.row_dual, 0.0)


def _parts(entries: csr_array | csc_array) -> tuple[int, NDArray[np.int32], NDArray[np.int32], Floats]:
    """A table of ones as the solver takes it: how many, offsets, places, values."""
    return entries.nnz, entries.indptr[:-1].astype(np.int32), entries.indices.astype(np.int32), np.ones(entries.nnz)
