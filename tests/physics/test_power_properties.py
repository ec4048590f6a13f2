"""Properties of the formulas on power: monotone, consistent with each other, the same for numbers and arrays."""

import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from showplan.physics.ampacity import ambient_factor, ampacity_a
from showplan.physics.batteries import discharge_h, discharge_share, peukert_h
from showplan.physics.catalogue import catalogue, evaluate
from showplan.physics.conductors import loop_ohm
from showplan.physics.errors import BadParameters, NoFiniteResult
from showplan.physics.fuses import fuse_wanted_a, largest_fuse_a, least_ampacity_a
from showplan.physics.power_tape import power_tape_current_a, power_tape_far_v
from showplan.physics.string_tape import (
    string_tape_current_a,
    string_tape_far_light,
    string_tape_far_v,
    string_tape_input_v,
    string_tape_mean_light,
)
from showplan.physics.swaps import SwapPlan
from showplan.physics.switches import junction_c, largest_on_mohm, thermal_feedback
from showplan.physics.tape import even_load_drop_v, two_feeds_lowest_m, two_feeds_place_v

ROUNDING = 1e-9
amps_per_m = st.floats(0.05, 3)
ohms_per_m = st.floats(0.01, 0.5)
lengths_m = st.floats(0.1, 10)
leads_ohm = st.floats(0, 1)
ends = st.sampled_from([1, 2])


@given(amps_per_m, ohms_per_m, lengths_m, leads_ohm, ends)
def test_the_four_models_of_tape_keep_their_order(a_per_m, ohm_per_m, length_m, lead_ohm, fed):
    # at 12 V: LED strings lose less than a resistive tape, that less than an even load
    even_v = 12 - even_load_drop_v(a_per_m, ohm_per_m, length_m / fed, lead_ohm)
    tape = (12.0, a_per_m, ohm_per_m, length_m, 12.0)
    resistive_v = string_tape_far_v(*tape, 0.0, lead_ohm, fed)
    strings_v = string_tape_far_v(*tape, 9.0, lead_ohm, fed)
    assert even_v - ROUNDING <= resistive_v <= strings_v + ROUNDING
    power_v = power_tape_far_v(12.0, 12 * a_per_m, ohm_per_m, length_m, lead_ohm, fed)
    assert np.isnan(power_v) or power_v <= even_v + 1e-6


@given(st.floats(9.5, 15), amps_per_m, ohms_per_m, lengths_m, leads_ohm, ends)
def test_strings_light_and_current_agree(supply_v, a_per_m, ohm_per_m, length_m, lead_ohm, fed):
    tape = (supply_v, a_per_m, ohm_per_m, length_m, 12.0, 9.0, lead_ohm, fed)
    near = (string_tape_input_v(*tape) - 9) / 3
    assert string_tape_far_light(*tape) - ROUNDING <= string_tape_mean_light(*tape) <= near + ROUNDING
    through_lead_v = supply_v - lead_ohm * string_tape_current_a(*tape) / fed
    assert string_tape_input_v(*tape) == pytest.approx(through_lead_v, abs=1e-9)


@given(st.floats(0, 9), amps_per_m, lengths_m)
def test_below_its_threshold_tape_is_dark(supply_v, a_per_m, length_m):
    tape = (supply_v, a_per_m, 0.1, length_m, 12.0, 9.0)
    assert string_tape_current_a(*tape) == string_tape_far_light(*tape) == 0
    assert string_tape_far_v(*tape) == supply_v


@given(st.floats(5, 48), st.floats(0.5, 30), ohms_per_m, lengths_m, leads_ohm)
def test_power_of_a_tape_balances(supply_v, w_per_m, ohm_per_m, length_m, lead_ohm):
    tape = (supply_v, w_per_m, ohm_per_m, length_m, lead_ohm)
    current_a = power_tape_current_a(*tape)
    if np.isnan(current_a):
        # without a solution there is none with more power either
        assert np.isnan(power_tape_current_a(supply_v, 2 * w_per_m, ohm_per_m, length_m, lead_ohm))
        return
    at_tape_w = (supply_v - lead_ohm * current_a) * current_a
    far_v = power_tape_far_v(*tape)
    assert w_per_m * length_m * (1 - 1e-9) <= at_tape_w
    # V'^2 / 2 = r p ln(V / V_far)
    input_v = supply_v - lead_ohm * current_a
    assert (ohm_per_m * current_a) ** 2 / 2 == pytest.approx(
        ohm_per_m * w_per_m * np.log(input_v / far_v), rel=1e-6, abs=1e-12
    )


@given(st.floats(10, 14), st.floats(10, 14), amps_per_m, ohms_per_m, lengths_m, st.floats(0, 1))
def test_nowhere_between_two_feeds_is_it_lower(first_v, second_v, a_per_m, ohm_per_m, length_m, share):
    tape = (first_v, second_v, a_per_m, ohm_per_m, length_m)
    lowest_v = two_feeds_place_v(*tape, two_feeds_lowest_m(*tape))
    assert lowest_v <= two_feeds_place_v(*tape, share * length_m) + ROUNDING
    assert two_feeds_place_v(*tape, length_m) == pytest.approx(second_v)


@given(st.floats(0.5, 50), st.floats(1, 3))
def test_a_fuse_protects_just_what_it_may(ampacity, opens_times):
    fuse_a = largest_fuse_a(ampacity, opens_times)
    assert fuse_a <= ampacity
    assert least_ampacity_a(fuse_a, opens_times) == pytest.approx(ampacity)
    assert fuse_wanted_a(ampacity, 0.75) > ampacity


@given(st.floats(-50, 100), st.floats(-50, 100))
def test_warmer_air_takes_current(one_c, other_c):
    cool_c, warm_c = sorted((one_c, other_c))
    assert 0 <= ambient_factor(warm_c) <= ambient_factor(cool_c) <= 1


@given(st.floats(0.1, 20), st.floats(1, 300), st.floats(20, 200), st.floats(-10, 60), st.floats(0.01, 1))
def test_a_junction_is_warmer_than_without_growth_or_runs_away(amps, mohm, k_per_w, ambient_c, duty):
    warm_c = junction_c(amps, mohm, k_per_w, ambient_c, duty)
    assert np.isnan(warm_c) == (thermal_feedback(amps, mohm, k_per_w, duty) >= 1)
    if warm_c > 25:
        assert (
            warm_c >= junction_c(amps, mohm, k_per_w, max(ambient_c, 25), duty, 0, 0) - 25 + min(ambient_c, 25) - 1e-6
        )
    largest_mohm = largest_on_mohm(amps, k_per_w, ambient_c, duty)
    assert junction_c(amps, largest_mohm, k_per_w, ambient_c, duty) == pytest.approx(110, abs=1e-6)


@given(st.floats(0.01, 50), st.floats(1, 100), st.floats(1, 20), st.floats(1, 1.6), st.floats(1.01, 5))
def test_a_battery_gives_no_more_than_it_has(amps, capacity_ah, rated_h, exponent, factor):
    hours = discharge_h(amps, capacity_ah, rated_h, exponent)
    assert hours * amps <= capacity_ah * (1 + ROUNDING)
    assert hours <= peukert_h(amps, capacity_ah, rated_h, exponent) * (1 + ROUNDING)
    assert discharge_h(amps * factor, capacity_ah, rated_h, exponent) < hours
    assert discharge_share(hours, amps, capacity_ah, rated_h, exponent) == pytest.approx(1)


@given(st.lists(st.floats(0, 1), max_size=12))
def test_every_part_has_a_pack_and_no_pack_too_much(shares):
    plan = SwapPlan.of(shares)
    assert [part for pack in plan.packs for part in pack] == list(range(len(shares)))
    assert all(sum(shares[part] for part in pack) <= 1 + 1e-6 for pack in plan.packs)
    assert plan.too_long == ()


POWER = [
    name
    for name, entry in catalogue().items()
    if any(
        word in name for word in ("tape", "even_load", "two_feeds", "junction", "discharge", "fuse_", "inrush", "pwm")
    )
    and entry.parameters
]


@pytest.mark.parametrize("name", POWER)
def test_numbers_give_what_arrays_give(name):
    entry = catalogue()[name]
    middles = {one.name: one.default if one.default is not None else _middle(one) for one in entry.parameters}
    number = entry.function(**middles)
    array = entry.function(**{key: np.full((2, 3), float(value)) for key, value in middles.items()})
    assert isinstance(number, float)
    assert array.shape == (2, 3)
    assert array == pytest.approx(np.full((2, 3), number), nan_ok=True)


def _middle(parameter):
    """A value within the range a parameter is expected in, low enough for all formulas to have a result."""
    return parameter.low + (parameter.high - parameter.low) / (1000 if parameter.name.endswith("threshold_v") else 8)


def test_faults_name_unit_and_bounds():
    with pytest.raises(BadParameters) as caught:
        evaluate("even_load_drop_v", {"a_per_m": -1, "ohm_per_m": 0, "length_m": "long", "lead_ohm": 0})
    faults = dict(caught.value.details)
    assert faults["a_per_m"] == "'-1' must be at least 0; give a number in A/m (current of a metre at rated voltage)"
    assert faults["ohm_per_m"].startswith("'0' must be more than 0; give a number in Ω/m")
    assert "give a number in m" in faults["length_m"]
    with pytest.raises(NoFiniteResult, match="power_tape_far_v: no finite result"):
        evaluate("power_tape_far_v", {"supply_v": 5, "w_per_m": 43.2, "ohm_per_m": 0.1, "length_m": 10})


def test_a_tour_of_1200_outputs_takes_no_second():
    rng = np.random.default_rng(7)
    a_per_m, length_m = rng.uniform(0.2, 1.2, 1200), rng.uniform(0.5, 10, 1200)
    started = time.perf_counter()
    lead_ohm = loop_ohm(26.0, rng.uniform(0.5, 5, 1200), 60)
    far_v = string_tape_far_v(12.0, a_per_m, 0.1, length_m, 12.0, 9.0, lead_ohm)
    power_v = power_tape_far_v(12.0, 12 * a_per_m, 0.1, length_m, lead_ohm)
    warm_c = junction_c(a_per_m * length_m, 20.0, 62.0, 40.0, 1.0)
    allowed_a = ampacity_a(6.0, ambient_factor(40.0), rng.choice([1.0, 0.8, 0.7], 1200))
    assert time.perf_counter() - started < 1
    assert far_v.shape == power_v.shape == warm_c.shape == allowed_a.shape == (1200,)
