"""The programme of cuts and links against scipy's solver, which starts anew each time."""

import subprocess
import sys

import numpy as np
import pytest
from scipy.optimize import linprog

from showplan.planner.relays.link_programme import LinkProgramme

COPIES = 12


def test_the_programme_is_right_after_each_change() -> None:
    random = np.random.default_rng(4)
    cost = random.integers(1, 4, COPIES).astype(float)
    programme = LinkProgramme(cost)
    for change in range(12):
        receiver = random.integers(0, COPIES, 15)
        sender = np.where(random.random(15) < 0.3, COPIES, (receiver + 1 + random.integers(0, COPIES - 1, 15)) % COPIES)
        programme.add_links(sender, receiver)
        far = random.random((4, COPIES + 1)) < 0.5
        far[:, -1] = False
        programme.add_cuts(far[far.any(axis=1)])
        if change % 2:
            programme.remove_links(random.random(len(programme.sender)) < 0.2)
            programme.remove_cuts(random.random(len(programme.far)) < 0.2)
        solution, adds, sums, prices = programme.solve()
        enters = programme.far[:, programme.receiver] & ~programme.far[:, programme.sender]
        matrix = np.insert(enters.astype(float), 0, 1.0, axis=1)
        costs = np.append(1 + cost.sum(), cost[programme.receiver])
        expected = linprog(costs, A_ub=-matrix, b_ub=-np.ones(len(matrix)), bounds=(0, None))
        assert prices.sum() == pytest.approx(expected.fun)
        assert adds == pytest.approx((costs - matrix.T @ prices)[1:], abs=1e-6)
        assert (sums >= 1 - 1e-6).all()
        assert (solution >= -1e-9).all()


def test_a_link_that_is_there_is_not_added_again() -> None:
    programme = LinkProgramme(np.ones(3))
    assert programme.add_links(np.array([3, 0]), np.array([0, 1])) == 2
    assert programme.add_links(np.array([0, 3, 3]), np.array([1, 1, 1])) == 1
    assert sorted(zip(programme.sender.tolist(), programme.receiver.tolist(), strict=True)) == [(0, 1), (3, 0), (3, 1)]


def test_a_cut_for_which_there_is_no_link_is_kept_at_a_price_above_all_placements() -> None:
    programme = LinkProgramme(np.ones(3))
    programme.add_cuts(np.array([[True, False, False, False]]))
    _, _, _, prices = programme.solve()
    assert prices == pytest.approx([4.0])


def test_the_solver_prints_nothing_into_the_output_of_a_command() -> None:
    """Nobody else may have made a solver before, and it prints past Python: so in a process of its own."""
    script = """
import numpy
from showplan.planner.relays.link_programme import LinkProgramme
programme = LinkProgramme(numpy.ones(1))
programme.add_cuts(numpy.array([[True, False]]))
programme.solve()
"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("", "")
