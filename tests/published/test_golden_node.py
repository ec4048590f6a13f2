"""One node from its battery to the far ends of its tapes, to 4 figures.

A LiFePO4 pack of 12.8 V and 40 mohm, a trunk of 0.5 m of 1.5 mm2, four switches of 10 mohm; two tapes, a constant
current and a resistive lamp on leads of IEC 60228 class 5 at 20 C. The figures were worked out by hand in closed form,
and once more by ngspice 39 with the tapes in 200 cells.
"""

from functools import cache

import pytest

from showplan.planner.power import NodePower, power_of
from showplan.planner.power.protection import ROUNDING
from showplan.planner.power.tables import ampacity_for_fuse_a, fuse_for
from tests.planner.power.kits import a_load, a_tape, bare_pack, kit

FOUR_FIGURES = 5e-5


@cache
def golden() -> NodePower:
    """The node; the switches are cooled so well that they stay at 25 C and below."""
    loads = (
        a_tape("o1", output=1, rated_w=72.0, length_m=5.0, cable_area_mm2=0.75, fuse_a=None),
        a_tape("o2", output=2, rated_w=12.0, length_m=2.5, cable_length_m=2.0, fuse_a=None),
        a_load("o3", output=3, kind="other", rated_w=None, rated_a=0.2, fuse_a=None),
        a_load("o4", output=4, fuse_a=None),
    )
    scene = kit(*loads, supply=bare_pack(), sort={"switch_k_per_w": 0.001}, node={"main_fuse_a": 15.0})
    return power_of(scene).node("A1")


def test_bus():
    node = golden()
    assert node.bus_v.nominal == pytest.approx(12.453521, rel=FOUR_FIGURES)
    assert node.current.nominal == pytest.approx(6.500540, rel=FOUR_FIGURES)


@pytest.mark.parametrize(
    ("load", "amps", "near_v", "far_v", "light"),
    [
        ("o1", 4.806453, 12.155521, 11.044949, 0.681650),
        ("o2", 1.062990, 12.277065, 12.145106, 1.048369),
        ("o3", 0.2, 12.435922, 12.435922, 1.0),
        ("o4", 0.431097, 12.415585, 12.415585, (12.415585 / 12) ** 2),
    ],
)
def test_outputs(load, amps, near_v, far_v, light):
    output = golden().output(load)
    assert output.current.nominal == pytest.approx(amps, rel=FOUR_FIGURES)
    assert output.load_v.nominal == pytest.approx(near_v, rel=FOUR_FIGURES)
    assert output.far_v.nominal == pytest.approx(far_v, rel=FOUR_FIGURES)
    assert output.light.far == pytest.approx(light, rel=FOUR_FIGURES)


def test_rated_currents():
    node = golden()
    assert node.current.rated == pytest.approx(7.616667, rel=FOUR_FIGURES)
    assert node.bus_v.rated == pytest.approx(12.394032, rel=FOUR_FIGURES)
    assert node.output("o1").far_v.rated == pytest.approx(10.522032, rel=FOUR_FIGURES)
    assert node.output("o2").far_v.rated == pytest.approx(12.103032, rel=FOUR_FIGURES)


def test_line_of_the_diagram_agrees():
    output = golden().output("o1")
    names = [point.name for point in output.points]
    assert names[:4] == ["supply", "node", "behind fuse and switch", "load"]
    first, last = output.points[4], output.points[-1]
    assert (first.along_tape_m, last.along_tape_m) == (0.0, 5.0)
    assert last.distance_m == pytest.approx(0.5 + 1 + 5)
    assert last.nominal_v == pytest.approx(output.far_v.nominal)
    assert last.nominal_a == pytest.approx(0.0, abs=1e-9)
    volts = [point.nominal_v for point in output.points]
    assert volts == sorted(volts, reverse=True)


def test_fuse_of_the_trunk():
    """7.6167 A by the 75 % of fuse makers is 10.16 A: a blade of 15 A, which 1.5 mm2 stands (16 A) and 1 mm2 not."""
    rated_a = golden().current.rated
    assert rated_a / 0.75 == pytest.approx(10.16, abs=0.005)
    assert fuse_for("blade", rated_a) == 15.0
    assert golden().trunk.protected_by_a == 15.0
    assert 10.0 < ampacity_for_fuse_a("blade", 15.0) <= 16.0 * (1 + ROUNDING)
    # leads of 0.5 and 0.75 mm2 (3 and 6 A) are not protected by it: each output wants its own
    assert all(output.lead.protected_by_a is None for output in golden().outputs)
