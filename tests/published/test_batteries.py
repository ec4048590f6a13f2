"""Discharge, cold, charging and changing of batteries. Sources beside each check."""

import numpy as np
import pytest

from showplan.physics.batteries import (
    charge_h,
    converter_input_a,
    discharge_h,
    discharge_share,
    energy_runtime_h,
    ieee_485_size_factor,
    one_ampere_capacity_ah,
    one_ampere_form_h,
    pack_wh,
    peukert_exponent,
    peukert_h,
)
from showplan.physics.swaps import SwapPlan
from showplan.reference.batteries import battery_chemistries, battery_presets, battery_temperatures, capacity_share
from showplan.reference.standing import UnknownKey
from tests.published.tolerances import LAST_PRINTED_DIGIT


def test_peukert_rated_at_some_hours():
    # worked example on a web page: 100 Ah at 20 h, exponent 1.2
    hours = peukert_h(np.array([5, 10, 20, 50]), 100, 20, 1.2)
    assert hours == pytest.approx([20.000, 8.7055, 3.7893, 1.2619], abs=1e-4)
    # slower than rated there is no more than the rated capacity
    assert discharge_h(np.array([1, 5, 10]), 100, 20, 1.2) == pytest.approx([100, 20, 8.7055], abs=1e-4)
    # a page gives AGM of exponent 1.1 at 10 to 100 A as 89 to 58 Ah; that is 1.17 to 1.19
    amps = np.array([10, 20, 50, 100])
    assert amps * peukert_h(amps, 100, 20, 1.1) == pytest.approx([93.3, 87.1, 79.4, 74.1], abs=0.051)


def test_peukert_with_the_capacity_at_one_ampere():
    # two worked examples on web pages: 14.5 h and 6.31 h
    assert one_ampere_form_h(np.array([5, 10]), 100, 1.2) == pytest.approx([14.4956, 6.3096], abs=1e-4)
    at_one_ah = one_ampere_capacity_ah(100, 20, 1.2)
    assert at_one_ah == pytest.approx(137.973, abs=LAST_PRINTED_DIGIT)
    assert one_ampere_form_h(10, at_one_ah, 1.2) == pytest.approx(peukert_h(10, 100, 20, 1.2))


def test_exponent_from_two_points():
    # web page: 20 h at 5 A, about 7.5 h at 10 A; and 100 Ah at 20 h with 85 Ah at 5 h
    assert peukert_exponent(5, 20, 10, 7.5) == pytest.approx(1.4150, abs=1e-4)
    assert peukert_exponent(5, 20, 17, 5) == pytest.approx(1.1328, abs=1e-4)


def test_a_day_of_parts():
    # 7.2 Ah at 20 h, exponent 1.2: 0.15 A for 2 h, 2 A for 0.75 h, 4 A for 0.25 h; summed apart from this code
    hours, amps = np.array([2, 0.75, 0.25]), np.array([0.15, 2, 4])
    bare_share = (hours / peukert_h(amps, 7.2, 20, 1.2)).sum()
    assert bare_share == pytest.approx(0.5534, abs=1e-4)
    assert 0.8 / bare_share == pytest.approx(1.446, abs=LAST_PRINTED_DIGIT)
    # 0.15 A is below the rated 0.36 A: it takes its ampere-hours in full, 0.0417 in place of 0.0350
    share = discharge_share(hours, amps, 7.2, 20, 1.2).sum()
    assert share == pytest.approx(0.5534 - 0.0350 + 0.0417, abs=1e-4)
    assert discharge_share(hours, amps, 7.2, 20).sum() == pytest.approx(0.3889, abs=1e-4)
    mean_a = (hours * amps).sum() / hours.sum()
    assert discharge_share(3, mean_a, 7.2, 20, 1.2) == pytest.approx(0.4705, abs=1e-4)
    assert discharge_share(hours, amps, 7.2, 20, 1.2) == pytest.approx(hours / discharge_h(amps, 7.2, 20, 1.2))
    assert discharge_share(5, 0, 7.2, 20, 1.2) == 0
    # pre-set and standby at 0.08 A, 6 A at 12 % for 0.8 h in 2.5 h of show and 1 h before
    assert pytest.approx(0.856) == 0.08 * 3.5 + 6 * 0.12 * 0.8


def test_size_factor_of_ieee_485():
    # fit printed on a web page; remembered table: 10 °C 1.19, 1.7 °C 1.35, −3.9 °C 1.52
    factors = ieee_485_size_factor(np.array([0, 10, 20, 25, 40]))
    assert factors == pytest.approx([1.405, 1.195, 1.051, 1.000, 0.898], abs=LAST_PRINTED_DIGIT)
    assert ieee_485_size_factor(np.array([10, 1.7, -3.9])) == pytest.approx([1.19, 1.35, 1.52], abs=0.0151)
    for row in battery_temperatures():
        if row.series == "ieee-485":
            assert row.share == pytest.approx(1 / ieee_485_size_factor(row.battery_c), abs=LAST_PRINTED_DIGIT)


def test_cold_takes_the_lower_of_two_sources():
    # a maker's table has 0.84 at 0 °C, IEEE 485 0.712
    assert capacity_share("lead-acid", 0) == pytest.approx(0.712, abs=LAST_PRINTED_DIGIT)
    assert capacity_share("lead-acid", 10) == pytest.approx(0.837, abs=LAST_PRINTED_DIGIT)
    assert capacity_share("lead-acid", 40) == 1
    # from memory: Li-ion 0.8 to 0.9 at 0 °C, LiFePO4 0.7 to 0.8, NiMH 0.8 to 0.9
    assert [capacity_share(key, 0) for key in ("li-ion", "lifepo4", "nimh")] == [0.8, 0.7, 0.8]
    assert capacity_share("li-ion", -10) == pytest.approx(0.7)
    assert capacity_share("li-ion", -30) == pytest.approx(0.5)
    assert capacity_share("lead-acid", -200) == 0
    with pytest.raises(UnknownKey, match="unknown chemistry 'coal'; known: lead-acid, li-ion, lifepo4, nimh"):
        capacity_share("coal", 20)


@pytest.mark.parametrize(
    ("key", "cells", "volts"),
    # web pages on cell voltages; full NiMH, LiFePO4 and lead-acid from memory
    [
        ("nimh", 10, (12.0, 10.0, 14.5)),
        ("li-ion", 3, (10.8, 9.0, 12.6)),
        ("lifepo4", 4, (12.8, 10.0, 14.6)),
        ("lifepo4", 8, (25.6, 20.0, 29.2)),
        ("lead-acid", 6, (12.0, 10.5, 14.4)),
    ],
)
def test_pack_voltages(key, cells, volts):
    chemistry = battery_chemistries()[key]
    found = np.array([chemistry.nominal_v, chemistry.cut_off_v, chemistry.full_v]) * cells
    assert found == pytest.approx(volts)
    assert chemistry.cut_off_v < chemistry.nominal_v < chemistry.full_v
    assert 1 <= chemistry.peukert_low <= chemistry.peukert <= chemistry.peukert_high
    assert chemistry.is_lithium == key.startswith("li")


def test_temperature_limits():
    # battery news page, Fahrenheit converted
    rows = battery_chemistries()
    assert (rows["li-ion"].charge_from_c, rows["li-ion"].charge_to_c) == (0, 45)
    assert (rows["li-ion"].discharge_from_c, rows["li-ion"].discharge_to_c) == (-20, 60)
    assert (rows["lead-acid"].charge_from_c, rows["lead-acid"].discharge_to_c) == (-20, 50)


def test_common_packs_fit_their_chemistry():
    for preset in battery_presets().values():
        chemistry = battery_chemistries()[preset.chemistry]
        assert preset.nominal_v == pytest.approx(preset.cells * chemistry.nominal_v)
        # beside the cells there are leads and a protection circuit; larger cells have less
        assert 0.2 < preset.internal_resistance_ohm / (preset.cells * chemistry.ohm_per_cell) < 2.1


def test_energy_and_charging():
    # worked example: 3 cells of 3.6 V, 5 Ah, 90 % used, 80 % left by age, 90 % converter, 10 W
    assert energy_runtime_h(pack_wh(10.8, 5), 10, 0.9, 1, 0.8, 0.9) == pytest.approx(3.499, abs=LAST_PRINTED_DIGIT)
    # two web pages on charging time: 1000 mAh at 145 mA in 6.9 h, with 1.2 in 8.28 h; factors by chemistry
    assert charge_h(1, 0.145, 1) == pytest.approx(6.9, abs=0.005)
    assert charge_h(1, 0.145, 1.2) == pytest.approx(8.276, abs=LAST_PRINTED_DIGIT)
    factors = {key: row.charge_factor for key, row in battery_chemistries().items()}
    assert charge_h(5, 2.5, factors["li-ion"]) == pytest.approx(2.30)
    assert charge_h(2, 0.2, factors["nimh"]) == pytest.approx(14.0)
    assert charge_h(7.2, 0.72, factors["lead-acid"]) == pytest.approx(12.0)
    # data sheet of a Wi-Fi chip: about 75 mA at 3.3 V; from 12 V through a converter of 85 %
    assert converter_input_a(0.075, 3.3, 12) == pytest.approx(0.0243, abs=0.00005)


def test_changing_packs():
    # parts of 1.9, 1.1, 1.3, 1.1, 1.3 Ah on 3.6 Ah take 3 packs, though 6.7 / 3.6 rounds up to 2
    plan = SwapPlan.of([ah / 3.6 for ah in (1.9, 1.1, 1.3, 1.1, 1.3)])
    assert plan == SwapPlan(((0, 1), (2, 3), (4,)), ())
    assert plan.swaps == 2
    assert len(SwapPlan.of([2.0 / 3.6] * 3).packs) == 3
    # three thirds fill a pack in spite of rounding; nothing takes no pack of its own
    assert SwapPlan.of([1 / 3, 1 / 3, 1 / 3, 0]).packs == ((0, 1, 2, 3),)
    # no change before part 1: parts 0 and 1 share a pack, which is too small for both
    plan = SwapPlan.of([0.6, 0.6, 0.3], [True, False, True])
    assert plan == SwapPlan(((0, 1), (2,)), (0, 1))
    assert SwapPlan.of([]).swaps == 0
    with pytest.raises(ValueError, match=r"part 1 takes -0\.1 of a pack: give 0 or more"):
        SwapPlan.of([0.5, -0.1])
    with pytest.raises(ValueError, match="1 parts but 2 marks"):
        SwapPlan.of([0.5], [True, True])
