"""What must hold of any output, whatever its figures."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showplan.planner.power import OutputPower, power_of
from showplan.planner.power.tape import AffineTape, SteadyTape, Tape
from showplan.planner.scene_power import Load
from tests.planner.power.kits import a_load, a_tape, bare_pack, kit

FEW = settings(max_examples=25, deadline=None)
SMALL = 1e-9

tapes = st.builds(
    lambda length, per_m, cable, area: a_tape(
        length_m=length, rated_w=per_m * length, cable_length_m=cable, cable_area_mm2=area
    ),
    st.floats(0.2, 8.0),
    st.floats(1.0, 15.0),
    st.floats(0.1, 10.0),
    st.sampled_from([0.5, 0.75, 1.0]),
)


def worked_out(load: Load, **changes: object) -> OutputPower:
    """The load on a bare pack."""
    return power_of(kit(load, supply=bare_pack(**changes))).node("A1").output("L1")


@FEW
@given(tapes)
def test_a_thicker_lead_never_lowers_light(load):
    thin, thick = worked_out(load), worked_out(replace(load, cable_area_mm2=2.5))
    assert thick.light.far >= thin.light.far - SMALL
    assert thick.light.mean >= thin.light.mean - SMALL
    assert thick.drop_v <= thin.drop_v + SMALL
    assert thick.lead.ampacity_a > thin.lead.ampacity_a


@FEW
@given(tapes)
def test_feeding_both_ends_never_lowers_the_darkest_point(load):
    one, both = worked_out(load), worked_out(replace(load, feeding="both-ends"))
    assert both.far_v.rated >= one.far_v.rated - SMALL
    assert both.light.evenness >= one.light.evenness - SMALL


@FEW
@given(tapes, st.floats(1.01, 3.0))
def test_more_power_never_raises_a_voltage(load, times):
    some, more = worked_out(load), worked_out(replace(load, rated_w=load.rated_w * times))
    assert more.load_v.rated <= some.load_v.rated + SMALL
    assert more.load_v.nominal <= some.load_v.nominal + SMALL
    assert more.current.nominal >= some.current.nominal - SMALL


@FEW
@given(tapes)
def test_rated_current_bounds_the_volts_of_what_follows_the_voltage(load):
    """At or below rated voltage LED tape takes no more than rated, so its volts are no lower."""
    found = worked_out(load, nominal_v=12.0)
    assert found.far_v.nominal >= found.far_v.rated - SMALL


@FEW
@given(tapes)
def test_volts_fall_along_the_line(load):
    volts = [point.rated_v for point in worked_out(load).points]
    assert all(later <= earlier + SMALL for earlier, later in pairwise(volts))


@FEW
@given(st.floats(0.3, 6.0), st.floats(0.02, 0.3), st.lists(st.floats(0, 1), min_size=1, max_size=4, unique=True))
def test_a_tape_fed_anywhere_balances(length, ohm_per_m, shares):
    tape = Tape(length, ohm_per_m, tuple(sorted(length * round(s, 2) for s in {round(s, 2) for s in shares})), 0.05)
    steady = SteadyTape(tape, 1.2)
    assert sum(steady.cable_a) == pytest.approx(1.2 * length)
    strings = AffineTape(tape, 0.4, 9.0)
    assert 0 < strings.profile.least_v <= max(strings.at_points[0]) <= 1
    assert strings.profile.least_v - SMALL <= strings.mean <= 1


@FEW
@given(st.integers(0, 3))
def test_names_change_nothing(turn):
    loads = [a_load(f"L{i}", output=i + 1, rated_w=2.0 + i) for i in range(4)]
    other = [replace(load, label=f"L{(i + turn) % 4}x") for i, load in enumerate(loads)]
    one, two = power_of(kit(*loads)).node("A1"), power_of(kit(*other)).node("A1")
    assert [out.current for out in one.outputs] == [out.current for out in two.outputs]
    assert one.bus_v == two.bus_v
