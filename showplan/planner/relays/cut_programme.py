"""The linear programme that holds the cuts: cuts come and go, and each solution goes on from the last basis."""

from collections.abc import Sequence

import highspy
import numpy as np

from showplan.planner.relays.halved import AtLeast
from showplan.planner.relays.posts import Indices
from showplan.planner.relays.problem import Floats

OPTIONS: dict[str, bool | int | str] = {
    "output_flag": False,
    "threads": 1,
    "solver": "simplex",
    "simplex_strategy": 1,  # dual: new cuts leave the last basis dual feasible
    "presolve": "off",  # the basis is one of the programme as it stands
}


class CutProgramme:
    """Least cost of columns, none below 0, under inequalities."""

    def __init__(self, cost: Floats) -> None:
        """`cost` (columns,), above or equal 0: without inequalities all columns stay 0."""
        columns = len(cost)
        self._highs = highspy.Highs()  # type: ignore[no-untyped-call]
        for name, value in OPTIONS.items():
            self._highs.setOptionValue(name, value)
        self._highs.addVars(columns, np.zeros(columns), np.full(columns, highspy.kHighsInf))
        self._highs.changeColsCost(columns, np.arange(columns, dtype=np.int32), cost)

    @property
    def held(self) -> int:
        """How many inequalities are held."""
        return int(self._highs.getNumRow())

    def add(self, rows: Sequence[AtLeast]) -> None:
        """Hold more inequalities, behind those held."""
        if not rows:
            return
        sizes = [len(row.columns) for row in rows]
        self._highs.addRows(
            len(rows),
            np.array([row.least for row in rows]),
            np.full(len(rows), highspy.kHighsInf),
            sum(sizes),
            np.cumsum([0, *sizes[:-1]]).astype(np.int32),
            np.concatenate([row.columns for row in rows]).astype(np.int32),
            np.concatenate([row.factors for row in rows]),
        )

    def remove(self, places: Indices) -> None:
        """Let go of inequalities by their places; those behind move up."""
        if len(places):
            self._highs.deleteRows(len(places), places.astype(np.int32))

    def solve(self) -> tuple[Floats, Floats]:
        """Solution (columns,) and prices (inequalities,), as the solver tells them: nothing of it is proven."""
        self._highs.run()
        if self._highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            self._highs.clearSolver()  # lost its way from the last basis: from none
            self._highs.run()
        status = self._highs.getModelStatus()
        if status != highspy.HighsModelStatus.kOptimal:
            told = self._highs.modelStatusToString(status)
            raise RuntimeError(f"The linear programme of the cuts ended without an answer: {told}")
        answer = self._highs.getSolution()
        return np.array(answer.col_value), np.array(answer.row_dual)
