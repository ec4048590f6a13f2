"""The programme of cuts against scipy's solver, which starts anew each time."""

import numpy as np
import pytest
from scipy.optimize import linprog

from showplan.planner.relays.cut_programme import CutProgramme
from showplan.planner.relays.halved import AtLeast, matrix_of


def test_the_programme_of_cuts_is_right_after_each_change() -> None:
    random = np.random.default_rng(4)
    cost = random.integers(1, 4, 30).astype(float)
    programme = CutProgramme(cost)
    rows: list[AtLeast] = []
    for _ in range(12):
        new = []
        for _ in range(5):
            columns = np.flatnonzero(random.random(30) < 0.3)
            if len(columns):
                new.append(AtLeast(columns, random.integers(1, 3, len(columns)).astype(float), 2.0))
        programme.add(new)
        rows += new
        gone = np.flatnonzero(random.random(len(rows)) < 0.2)
        programme.remove(gone)
        rows = [row for place, row in enumerate(rows) if place not in set(gone.tolist())]
        assert programme.held == len(rows)
        solution, prices = programme.solve()
        matrix, least = matrix_of(rows, len(cost))
        expected = linprog(cost, A_ub=-matrix, b_ub=-least, bounds=(0, None))
        assert cost @ solution == pytest.approx(expected.fun)
        assert prices @ least == pytest.approx(expected.fun)
        assert (matrix @ solution >= least - 1e-6).all()
