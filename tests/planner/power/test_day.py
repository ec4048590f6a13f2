"""Packs through the day: changes between parts only, charging in gaps, the night."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showplan.physics.swaps import SwapPlan
from showplan.planner.power import power_of
from showplan.planner.power.day import DayPart, day_with, night_needed_h, packs_needed
from showplan.planner.power.results import PackDay
from showplan.planner.scene_power import PartLevel, ShowPart
from tests.planner.power.kits import a_load, a_supply, bare_pack, kit

NO_CHARGING = {"reserve": 0.0, "chargers": 0, "charge_h": 1.0}


def parts(*shares: float, may_change: tuple[bool, ...] | None = None) -> list[DayPart]:
    """Parts of an hour that take these shares of a pack."""
    allowed = may_change or (True,) * len(shares)
    return [DayPart(f"part {i}", 60.0, s, allowed[i], False) for i, s in enumerate(shares)]


def test_worked_examples():
    # 3.6 Ah packs: 1.9, 1.1, 1.3, 1.1, 1.3 Ah take 3 packs though 6.7 Ah would fit into 2; three of 2.0 Ah take 3
    assert packs_needed(parts(*(ah / 3.6 for ah in (1.9, 1.1, 1.3, 1.1, 1.3))), **NO_CHARGING) == 3
    assert packs_needed(parts(*[2.0 / 3.6] * 3), **NO_CHARGING) == 3


@given(
    st.lists(st.integers(0, 60).map(lambda percent: percent / 100), min_size=1, max_size=8),
    st.lists(st.booleans(), min_size=8, max_size=8),
)
def test_without_charging_it_agrees_with_the_catalogue(shares, allowed):
    """Packs that were taken out may come back, so it may need fewer than one-way swaps, never more."""
    may_change = (True, *allowed[1 : len(shares)])
    plan = SwapPlan.of(shares, may_change)
    needed = packs_needed(parts(*shares, may_change=may_change), **NO_CHARGING)
    assert 1 <= needed <= max(len(plan.packs), 1) or plan.too_long
    day = day_with(parts(*shares, may_change=may_change), needed, **NO_CHARGING)
    assert set(day.unserved) == {f"part {i}" for i in plan.too_long if shares[i] > 0}
    if not plan.too_long:
        assert min(day.levels) >= -1e-6
        one_way = day_with(parts(*shares, may_change=may_change), max(len(plan.packs), 1), **NO_CHARGING)
        assert one_way.changes <= plan.swaps  # fewer packs may mean more changes


def test_a_pack_is_not_changed_where_that_is_not_allowed():
    day = day_with(parts(0.6, 0.6, may_change=(True, False)), 2, **NO_CHARGING)
    assert [part.pack for part in day.parts] == [1, 1]
    assert day.parts[-1].left == pytest.approx(-0.2)


def test_charging_in_a_gap_saves_packs():
    acts = parts(0.8, 0.8)
    gap = DayPart("supper", 60.0, 0.0, True, True)
    without = packs_needed(acts, **NO_CHARGING)
    charged = packs_needed([acts[0], gap, acts[1]], reserve=0.0, chargers=1, charge_h=1.0)
    assert (without, charged) == (2, 1)
    day = day_with([acts[0], gap, acts[1]], 1, reserve=0.0, chargers=1, charge_h=1.0)
    [charging] = day.charging
    assert (charging.part, charging.pack, charging.minutes) == ("supper", 1, pytest.approx(48.0))
    assert charging.level_after == 1.0
    # a slower charger does not fill it in time
    assert packs_needed([acts[0], gap, acts[1]], reserve=0.0, chargers=1, charge_h=4.0) == 2


def test_two_packs_share_a_charger_one_after_the_other():
    gap = DayPart("supper", 60.0, 0.0, True, True)
    day = day_with([*parts(0.5, 0.9), gap], 2, reserve=0.0, chargers=1, charge_h=1.0)
    assert [(one.pack, one.from_minute) for one in day.charging] == [(2, 0.0), (1, pytest.approx(54.0))]
    assert day.levels == (pytest.approx(0.6), 1.0)


def test_the_night():
    assert night_needed_h([0.0, 0.0, 0.5], 1, 2.0) == pytest.approx(5.0)
    assert night_needed_h([0.0, 0.0, 0.5], 2, 2.0) == pytest.approx(3.0)
    assert night_needed_h([0.0], 0, 2.0) is None
    assert night_needed_h([1.0], 0, 2.0) == 0.0


def lead_day(*steps: tuple[float, float], **changes: object) -> PackDay:
    """The day of a lead-acid pack of 7.2 Ah that gives (A, h) in turn."""
    day_parts = tuple(
        ShowPart(name=f"part {i}", position=i, kind="act", minutes=60 * hours) for i, (_, hours) in enumerate(steps)
    )
    levels = tuple(PartLevel(part=f"part {i}", load="L1", level=amps / 4) for i, (amps, _) in enumerate(steps))
    pack = bare_pack(chemistry="lead-acid", cells=6, nominal_v=12.0, capacity_ah=7.2, **changes)
    load = a_load(kind="other", rated_w=None, rated_a=4.0, cable_area_mm2=1.0, fuse_a=7.5)
    scene = kit(load, supply=pack, show_parts=day_parts, part_levels=levels, venue={"coldest_c": 25.0})
    day = power_of(scene).supply("B1").day
    assert day is not None
    return day


def test_peukert_step_by_step():
    """7.2 Ah over 20 h: 0.15 A for 2 h, 2 A for 0.75 h, 4 A for 0.25 h, each by t = H (C / (I H))^k, derived.

    On the mean current (0.933 A) it would come out too low; with k 1 lower still.
    """
    k, capacity = 1.15, 7.2
    day = lead_day((0.15, 2.0), (2.0, 0.75), (4.0, 0.25), state_of_health=1.0)
    steps = ((0.15, 2.0), (2.0, 0.75), (4.0, 0.25))
    wanted = sum(h / min(20 * (capacity / (a * 20)) ** k, capacity / a) for a, h in steps)
    assert day.day_share == pytest.approx(wanted, rel=1e-6)
    assert day.day_share > sum(a * h for a, h in steps) / capacity


def test_cold_and_age_take_capacity():
    aged = lead_day((1.0, 1.0), state_of_health=0.8)
    new = lead_day((1.0, 1.0), state_of_health=1.0)
    assert aged.usable_ah == pytest.approx(0.8 * new.usable_ah)
    cold = power_of(kit(venue={"coldest_c": 0.0})).supply("B1").day
    warm = power_of(kit()).supply("B1").day
    assert cold is not None
    assert warm is not None
    assert cold.usable_ah < warm.usable_ah
    assert cold.hours_at_full < warm.hours_at_full


def test_charge_time_by_chemistry():
    # 5 Ah Li-ion at 2.5 A, factor 1.15: 2.30 h; page on charging time
    day = power_of(kit(supply=a_supply(chemistry="Li-Ion", capacity_ah=5.0, charger_current_a=2.5))).supply("B1").day
    assert day is not None
    assert day.charge_hours == pytest.approx(2.30, abs=0.005)
