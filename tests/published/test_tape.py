"""Tape in four models. Besides the sources named: a ladder of resistors solved by numpy, and by ngspice."""

import numpy as np
import pytest

from showplan.physics.conductors import loop_ohm
from showplan.physics.power_tape import power_tape_current_a, power_tape_far_v, power_tape_longest_m
from showplan.physics.string_tape import (
    string_light,
    string_tape_current_a,
    string_tape_far_light,
    string_tape_far_v,
    string_tape_input_v,
    string_tape_longest_m,
    string_tape_mean_light,
    string_tape_place_v,
    strings_w_per_m,
)
from showplan.physics.supplies import supply_wanted_w
from showplan.physics.tape import (
    even_load_drop_v,
    even_load_longest_m,
    points_with_ends_drop_v,
    points_within_drop_v,
    sectioned_load_drop_v,
    two_feeds_first_a,
    two_feeds_lowest_m,
    two_feeds_place_v,
)
from tests.circuits import Circuit, ladder, simulate
from tests.published.tolerances import LAST_PRINTED_DIGIT, SIMULATED

CELLS = 200
REEL = (1.2, 0.10, 5.0)  # A/m, ohm/m, m: a reel of 14.4 W/m on 12 V
STRINGS = (*REEL, 12.0, 9.0)  # the same as LED strings: 12 V rated, 9 V threshold
LOADS = {  # a cell's current by its voltage, 40 cells a metre
    "even": "0.03",
    "strings": "max({v}-9,0)*0.01",
    "resistive": "{v}*0.0025",
    "power": "0.36/{v}",
}
LEADS_OHM = {"0.5": 39.0, "0.75": 26.0, "1.5": 13.3}  # ohm/km of IEC 60228 class 5
FEEDS = {
    "one end": ((0, 12, 0),),
    "both ends": ((0, 12, 0), (5, 12, 0)),
    "the middle": ((2.5, 12, 0),),
    "unequal ends": ((0, 12, 0), (5, 11.6, 0)),
    **{f"{n} points": tuple((k * 5 / (n - 1), 12, 0) for k in range(n)) for n in (3, 5)},
    "2 within": ((1.25, 12, 0), (3.75, 12, 0)),
    **{f"a lead of {size} mm2": ((0, 12, 2 * 3 * ohm / 1000),) for size, ohm in LEADS_OHM.items()},
    "both ends by leads": ((0, 12, 0.156), (5, 12, 0.156)),
}
CASES = [
    *(("even", feed) for feed in FEEDS if feed != "both ends by leads"),
    *(("strings", feed) for feed in FEEDS if "points" not in feed),
    *((load, feed) for load in ("resistive", "power") for feed in ("one end", "both ends")),
    ("power", "a lead of 0.75 mm2"),
    ("power", "both ends by leads"),
]


@pytest.fixture(scope="module")
def simulated():
    """(voltages along the tape, current from the first feed) of every case, by ngspice."""
    circuits = [
        Circuit(
            ladder(ohm_per_m=0.1, length_m=5, cells=CELLS, load=LOADS[load], feeds=FEEDS[feed]),
            (*(f"v(n{node})" for node in range(0, CELLS + 1, 5)), "-i(vfeed0)"),
        )
        for load, feed in CASES
    ]
    return {case: (np.array(found[:-1]), found[-1]) for case, found in zip(CASES, simulate(circuits), strict=True)}


def numpy_ladder(siemens_per_m, threshold_v, a_per_m, feeds, cells=CELLS):
    """Voltages of a ladder of equal cells by its matrix; loads are linear above the threshold, all of it lit."""
    per_cell = cells / 5
    matrix = np.zeros((cells + 1, cells + 1))
    for cell in range(cells):
        matrix[cell : cell + 2, cell : cell + 2] += per_cell / 0.1 * np.array([[1, -1], [-1, 1]])
    part = np.ones(cells + 1) / per_cell
    part[[0, -1]] /= 2
    matrix += np.diag(part * siemens_per_m)
    drawn = part * (siemens_per_m * threshold_v - a_per_m)
    for place_m, volts, ohm in feeds:
        siemens = 1 / max(ohm, 1e-9)
        node = round(place_m * per_cell)
        matrix[node, node] += siemens
        drawn[node] += siemens * volts
    return np.linalg.solve(matrix, drawn)


def test_even_load(simulated):
    # textbook quiz page on the uniformly loaded distributor: I R / 2, from both ends I R / 8
    assert even_load_drop_v(*REEL) == pytest.approx(1.5)
    assert points_with_ends_drop_v(*REEL) == pytest.approx(0.375)
    assert points_within_drop_v(*REEL) == pytest.approx(0.375)
    assert sectioned_load_drop_v(*REEL, 5) == pytest.approx(1.8)
    assert points_with_ends_drop_v(*REEL, np.array([3, 4, 5])) == pytest.approx([0.09375, 0.041667, 0.023438], rel=1e-4)
    assert points_within_drop_v(*REEL, np.array([2, 3])) == pytest.approx([0.09375, 0.041667], rel=1e-4)
    ours = {
        "one end": 1.5,
        "both ends": points_with_ends_drop_v(*REEL),
        "the middle": points_within_drop_v(*REEL),
        "3 points": points_with_ends_drop_v(*REEL, 3),
        "5 points": points_with_ends_drop_v(*REEL, 5),
        "2 within": points_within_drop_v(*REEL, 2),
    }
    for feed, drop_v in ours.items():
        assert 12 - drop_v == pytest.approx(simulated["even", feed][0].min(), rel=SIMULATED)
        assert 12 - drop_v == pytest.approx(numpy_ladder(0, 0, 1.2, FEEDS[feed]).min(), rel=SIMULATED)


def test_even_load_behind_a_lead(simulated):
    drops_v = [even_load_drop_v(*REEL, loop_ohm(ohm, 3)) for ohm in LEADS_OHM.values()]
    assert drops_v == pytest.approx([2.904, 2.436, 1.9788])
    for size, drop_v in zip(LEADS_OHM, drops_v, strict=True):
        assert 12 - drop_v == pytest.approx(simulated["even", f"a lead of {size} mm2"][0].min(), rel=SIMULATED)


def test_unequal_ends(simulated):
    ends = (12.0, 11.6, *REEL)
    assert two_feeds_first_a(*ends) == pytest.approx(3.8)
    assert two_feeds_first_a(11.6, 12.0, *REEL) == pytest.approx(2.2)
    assert two_feeds_lowest_m(*ends) == pytest.approx(3.1667, abs=LAST_PRINTED_DIGIT / 10)
    assert two_feeds_place_v(*ends, two_feeds_lowest_m(*ends)) == pytest.approx(11.39833, abs=1e-5)
    volts, first_a = simulated["even", "unequal ends"]
    assert two_feeds_place_v(*ends, np.linspace(0, 5, 41)) == pytest.approx(volts, rel=SIMULATED)
    # half the load of the first cell hangs on the feed itself
    assert first_a == pytest.approx(3.8, abs=1e-6)
    volts, _ = simulated["strings", "unequal ends"]
    ours = string_tape_place_v(12.0, 11.6, *STRINGS, np.linspace(0, 5, 41))
    assert ours == pytest.approx(volts, rel=SIMULATED)
    # so unequal that the end draws from the start: the lowest voltage is at the end
    assert two_feeds_lowest_m(12.0, 9.0, *REEL) == 5


def test_resistive_tape(simulated):
    # b L = 0.5
    tape = (12.0, 1.2, 0.1, 5.0, 12.0, 0.0)
    assert string_tape_far_v(*tape) == pytest.approx(10.641827, abs=1e-6)
    assert string_tape_current_a(*tape) == pytest.approx(5.545406, abs=1e-6)
    assert string_tape_far_v(*tape, 0, 2) == pytest.approx(11.634524, abs=1e-6)
    volts, first_a = simulated["resistive", "one end"]
    assert (string_tape_far_v(*tape), string_tape_current_a(*tape)) == pytest.approx(
        (volts[-1], first_a), rel=SIMULATED
    )
    assert volts[-1] == pytest.approx(numpy_ladder(0.1, 0, 0, FEEDS["one end"])[-1], rel=1e-6)
    assert string_tape_far_v(*tape, 0, 2) == pytest.approx(simulated["resistive", "both ends"][0].min(), rel=SIMULATED)


def test_strings(simulated):
    tape = (12.0, *STRINGS)
    assert string_tape_far_v(*tape) == pytest.approx(10.944163, abs=1e-6)
    assert string_tape_current_a(*tape) == pytest.approx(4.569565, abs=1e-6)
    assert string_tape_far_light(*tape) == pytest.approx(0.64805, abs=1e-5)
    assert string_tape_mean_light(*tape) == pytest.approx(0.76159, abs=1e-5)
    assert string_tape_far_v(*tape, 0, 2) == pytest.approx(11.660457, abs=1e-6)
    volts, first_a = simulated["strings", "one end"]
    assert (string_tape_far_v(*tape), string_tape_current_a(*tape)) == pytest.approx(
        (volts[-1], first_a), rel=SIMULATED
    )
    assert volts == pytest.approx(numpy_ladder(0.4, 9, 0, FEEDS["one end"])[::5], rel=1e-6)
    assert string_tape_far_v(*tape, 0, 2) == pytest.approx(simulated["strings", "both ends"][0].min(), rel=SIMULATED)


@pytest.mark.parametrize(
    ("size", "far_v", "taken_a"),
    [("0.5", 10.43330, 3.3688), ("0.75", 10.57089, 3.6922), ("1.5", 10.73346, 4.0743)],
)
def test_strings_behind_a_lead(simulated, size, far_v, taken_a):
    tape = (12.0, *STRINGS, loop_ohm(LEADS_OHM[size], 3))
    assert string_tape_far_v(*tape) == pytest.approx(far_v, abs=1e-5)
    assert string_tape_current_a(*tape) == pytest.approx(taken_a, abs=1e-4)
    volts, first_a = simulated["strings", f"a lead of {size} mm2"]
    assert string_tape_input_v(*tape) == pytest.approx(volts[0], rel=SIMULATED)
    assert (string_tape_far_v(*tape), string_tape_current_a(*tape)) == pytest.approx(
        (volts[-1], first_a), rel=SIMULATED
    )


def test_strings_from_both_ends_by_leads(simulated):
    volts, first_a = simulated["strings", "both ends by leads"]
    tape = (12.0, *STRINGS, 0.156, 2)
    assert string_tape_input_v(*tape) == pytest.approx(volts[0], rel=SIMULATED)
    assert string_tape_far_v(*tape) == pytest.approx(volts.min(), rel=SIMULATED)
    assert string_tape_current_a(*tape) == pytest.approx(2 * first_a, rel=SIMULATED)


def test_constant_power(simulated):
    tape = (12.0, 14.4, 0.1, 5.0)
    # boundary problem solved by scipy, and ladders of two power-flow programs: 10.297994 V with 100 cells
    assert power_tape_far_v(*tape) == pytest.approx(10.297999, abs=1e-6)
    assert power_tape_current_a(*tape) == pytest.approx(6.637139, abs=1e-6)
    for feed, ohm, ends in (
        ("one end", 0, 1),
        ("both ends", 0, 2),
        ("a lead of 0.75 mm2", 0.156, 1),
        ("both ends by leads", 0.156, 2),
    ):
        volts, first_a = simulated["power", feed]
        assert power_tape_far_v(*tape, ohm, ends) == pytest.approx(volts.min(), rel=SIMULATED)
        assert power_tape_current_a(*tape, ohm, ends) == pytest.approx(ends * first_a, rel=SIMULATED)


def test_power_that_the_line_cannot_carry():
    longest_m = power_tape_longest_m(12, 14.4, 0.1)
    far_v = power_tape_far_v(12, 14.4, 0.1, longest_m * np.array([0.999, 1.001]))
    assert 0.43 * 12 < far_v[0] < 0.47 * 12
    assert np.isnan(far_v[1])
    assert np.isnan(power_tape_current_a(12, 14.4, 0.1, 5, 1.0))


@pytest.mark.parametrize(
    ("a_per_m", "even_m", "strings_m", "bright_m"),
    # metres to 10 % drop at 12 V, r 0.05, 0.10, 1/6 and 1/3 ohm/m; to 90 % light; computed apart from this code
    [
        (0.4, (10.95, 7.75, 6.00, 4.24), (13.46, 9.51, 7.37, 5.21), (5.72, 4.05, 3.13, 2.22)),
        (0.8, (7.75, 5.48, 4.24, 3.00), (9.51, 6.73, 5.21, 3.68), (4.05, 2.86, 2.22, 1.57)),
        (1.2, (6.32, 4.47, 3.46, 2.45), (7.77, 5.49, 4.25, 3.01), (3.30, 2.34, 1.81, 1.28)),
    ],
)
def test_longest_tape(a_per_m, even_m, strings_m, bright_m):
    ohm_per_m = np.array([0.05, 0.10, 1 / 6, 1 / 3])
    assert even_load_longest_m(10, 12, a_per_m, ohm_per_m) == pytest.approx(even_m, abs=0.01)
    assert even_load_longest_m(10, 12, a_per_m, ohm_per_m, 2) == pytest.approx(2 * np.array(even_m), abs=0.02)
    # 10.8 V is 60 % of the light of 12 V
    assert string_light(10.8, 12, 9) == pytest.approx(0.6)
    assert string_tape_longest_m(0.6, a_per_m, ohm_per_m, 12, 9) == pytest.approx(strings_m, abs=0.01)
    assert string_tape_longest_m(0.9, a_per_m, ohm_per_m, 12, 9) == pytest.approx(bright_m, abs=0.01)


def test_longest_tape_of_other_voltages():
    ohm_per_m = np.array([0.05, 0.10, 1 / 6, 1 / 3])
    assert even_load_longest_m(10, 24, 0.6, ohm_per_m) == pytest.approx([12.65, 8.94, 6.93, 4.90], abs=0.01)
    assert even_load_longest_m(10, 5, 3.6, ohm_per_m) == pytest.approx([2.36, 1.67, 1.29, 0.91], abs=0.01)


def test_a_reel_from_one_end():
    amps = np.array([0.4, 0.6, 0.8, 1.2])  # 4.8, 7.2, 9.6 and 14.4 W/m
    assert even_load_drop_v(amps, 0.1, 5) / 0.12 == pytest.approx([4.2, 6.2, 8.3, 12.5], abs=0.051)
    light = string_tape_far_light(12, amps, 0.1, 5, 12, 9)
    assert light == pytest.approx([0.854, 0.793, 0.739, 0.648], abs=LAST_PRINTED_DIGIT)


def test_power_by_the_strings():
    # seller's page: 60 LEDs of three chips a metre make 14.4 W/m; the others by the same rule
    string_ma, leds_per_m = np.array([60, 20, 20, 60]), np.array([60, 60, 120, 30])
    assert strings_w_per_m(12, string_ma, leds_per_m) == pytest.approx([14.4, 4.8, 9.6, 7.2])
    # another seller's page: 72 W of tape, 90 W of supply
    assert supply_wanted_w(strings_w_per_m(12, 60, 60) * 5) == pytest.approx(90)


def test_strings_on_battery_packs():
    # 12 V tape, 9 V threshold: full, nominal and empty packs
    volts = np.array([14.6, 12.8, 12.6, 11.1, 10.8, 10.5, 10.0, 9.0])
    light = [1.867, 1.267, 1.200, 0.700, 0.600, 0.500, 0.333, 0.0]
    assert string_light(volts, 12, 9) == pytest.approx(light, abs=LAST_PRINTED_DIGIT)


def test_strings_of_real_leds():
    # 100 strings of three LED models and 47 ohm along the same tape, by ngspice; one string more right at the supply
    lines = ["vs n0 0 12", ".model led d(is=7.7e-25 n=2.2 rs=1)", *led_string("one", "n0")]
    for cell in range(100):
        lines.append(f"rt{cell} n{cell} n{cell + 1} {0.5 / 100}")
        lines += led_string(cell, f"n{cell + 1}")
    ((one_a, others_a, last_a),) = simulate([Circuit("\n".join(lines), ("i(vione)", "-i(vs)-i(vione)", "i(vi99)"))])
    tape = (12.0, 20 * one_a, 0.10, 5.0, 12.0, 9.0)
    assert string_tape_current_a(*tape) == pytest.approx(others_a, rel=0.02)
    assert string_tape_far_light(*tape) == pytest.approx(last_a / one_a, rel=0.03)
    # the models bracket them: even load takes more, linear strings are darker at the end
    assert others_a < 100 * one_a
    assert string_tape_far_light(*tape) < last_a / one_a < 1


def led_string(name, node):
    """Lines of three LEDs and a resistor, with a source of 0 V that measures their current."""
    return [
        f"vi{name} {node} a{name} 0",
        f"rs{name} a{name} b{name} 47",
        f"dx{name} b{name} c{name} led",
        f"dy{name} c{name} d{name} led",
        f"dz{name} d{name} 0 led",
    ]
