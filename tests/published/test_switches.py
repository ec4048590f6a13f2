"""Losses and heat of a transistor. Sources beside each check; ngspice where named, else arithmetic."""

import numpy as np
import pytest

from showplan.physics.switches import (
    conduction_w,
    edge_us,
    junction_c,
    largest_on_mohm,
    resistive_switching_w,
    switching_w,
    thermal_feedback,
    warm_mohm,
)
from showplan.reference.switches import fully_on_mohm, switch_examples
from tests.circuits import Circuit, simulate
from tests.published.tolerances import LAST_PRINTED_DIGIT

# current, mohm, K/W, ambient; junction temperature by ngspice as a thermal circuit
HEATED = [((2, 52, 125, 50), 88.3540), ((2, 100, 62, 25), 55.467), ((6, 20, 62, 40), 114.657), ((6, 8, 62, 40), 62.936)]


def test_published_examples():
    # forum example: 2 A, 52 mohm, 125 K/W at 50 °C: 0.208 W of 0.8 W; 76 °C without the growth of the resistance
    assert conduction_w(2, 52, 1) == pytest.approx(0.208)
    assert junction_c(2, 52, 125, 50, 1, 0, 0) == pytest.approx(76.0)
    # article: 2 A, 0.1 ohm, 62 K/W: 0.4 W, about 25 K
    assert conduction_w(2, 100, 1) == pytest.approx(0.4)
    assert junction_c(2, 100, 62, 25, 1, 0, 0) - 25 == pytest.approx(24.8)
    # growth by a data-sheet curve quoted on a question-and-answer page, and by a calculator page
    assert warm_mohm(1, 125) == pytest.approx(1.75)
    assert warm_mohm(1, 100, 0.0051) == pytest.approx(1.38, abs=0.005)
    # a web answer multiplied volts by ohms for 5 A through 8 mohm: 0.2 W is right
    assert conduction_w(5, 8, 1) == pytest.approx(0.2)


def test_junction_against_a_thermal_circuit():
    circuits = [
        Circuit(
            f"va air 0 {ambient_c}\nrth air j {k_per_w}\n"
            f"bp 0 j i={amps**2 * mohm / 1000:.12g}*(1+0.0075*(v(j)-25))\n.nodeset v(j)={ambient_c}",
            ("v(j)",),
        )
        for (amps, mohm, k_per_w, ambient_c), _ in HEATED
    ]
    for (values, known_c), (simulated_c,) in zip(HEATED, simulate(circuits), strict=True):
        assert junction_c(*values, 1) == pytest.approx(known_c, abs=LAST_PRINTED_DIGIT)
        assert junction_c(*values, 1) == pytest.approx(simulated_c, abs=1e-6)
    warm_c = junction_c(6, 20, 62, 40, 1)
    assert conduction_w(6, warm_mohm(20, warm_c), 1) == pytest.approx(1.204, abs=LAST_PRINTED_DIGIT)
    assert junction_c(6, 20, 62, 40, 1, 0, 0) == pytest.approx(84.64)


def test_heat_that_runs_away():
    assert thermal_feedback(6, 40, 125, 1) == pytest.approx(1.35)
    assert np.isnan(junction_c(6, 40, 125, 40, 1))
    found_c = junction_c(6, np.array([8, 40]), 125, 40, 1)
    assert np.isnan(found_c).tolist() == [False, True]


def test_largest_resistance():
    amps = np.array([1, 2, 4, 6])
    assert largest_on_mohm(amps, 125, 40, 1) == pytest.approx([342, 85.5, 21.4, 9.5], rel=0.003)
    assert largest_on_mohm(amps, 62, 40, 1) == pytest.approx([690, 172, 43, 19], rel=0.01)
    assert junction_c(amps, largest_on_mohm(amps, 125, 40, 1), 125, 40, 1) == pytest.approx(110)


def test_switching_loss():
    assert switching_w(12, 6, np.array([2, 20, 20]), np.array([1e3, 1e3, 2e4])) == pytest.approx([0.072, 0.72, 14.4])
    # energy of one edge of 1 us at 12 V, 6 A: 12 uJ with a resistive load, 36 uJ (72 for both) with a clamped one
    ramps = "bv v 0 v=12*(1-time*1e6)\nbi i 0 v=6*time*1e6\nbp p 0 v=v(v)*v(i)\nbq q 0 v=12*v(i)\nr p 0 1"
    measures = ("soft INTEG v(p) from=0 to=1u", "hard INTEG v(q) from=0 to=1u")
    ((soft_j, hard_j),) = simulate([Circuit(ramps, ("soft", "hard"), "tran 0.2n 1u 0 0.2n", measures)])
    assert resistive_switching_w(12, 6, 1, 1e6) == pytest.approx(soft_j * 1e6, rel=1e-3)
    assert switching_w(12, 6, 1, 1e6) == pytest.approx(hard_j * 1e6, rel=1e-3)


def test_edges():
    # 10 nC from 3.3 V with a plateau at 2.0 V; the rule is from memory
    assert edge_us(10, np.array([100, 10_000]), 1.3) == pytest.approx([0.77, 77], rel=0.002)


def test_threshold_is_not_on():
    # two data sheets of 20 V parts, as their makers print them
    typical = {(row.part, row.drive_v): row.typical_mohm for row in switch_examples()}
    assert typical["small part", 2.5] / typical["small part", 4.5] == pytest.approx(1.34, abs=0.005)
    assert typical["medium part", 2.5] / typical["medium part", 4.5] == pytest.approx(1.33, abs=0.005)
    assert typical["small part", 1.5] / typical["small part", 4.5] == pytest.approx(3.94, abs=0.005)
    assert fully_on_mohm("small part", 3.3) == 275
    assert fully_on_mohm("medium part", 2.4) is None
