"""Dimming, flicker and the surface of tape. From memory where no source is named; else arithmetic."""

import numpy as np
import pytest

from showplan.physics.dimming import (
    low_risk_modulation_percent,
    modulation_percent,
    pwm_cable_w,
    pwm_flicker_index,
    pwm_mean_a,
    pwm_rms_a,
)
from showplan.physics.touch_heat import tape_power_allowed_w_per_m, tape_surface_high_c, tape_surface_low_c
from showplan.reference.limits import flicker_limit_percent, flicker_limits, touch_limits
from showplan.reference.standing import UnknownKey
from tests.published.tolerances import LAST_PRINTED_DIGIT


def test_dimmed_current():
    # a quarter of 6 A; and a cycle of it summed up
    cycle_a = np.where(np.arange(1000) < 250, 6.0, 0.0)
    assert pwm_mean_a(6, 0.25) == pytest.approx(cycle_a.mean()) == 1.5
    assert pwm_rms_a(6, 0.25) == pytest.approx(np.sqrt((cycle_a**2).mean())) == 3.0
    assert pwm_cable_w(6, 0.25, 0.1) == pytest.approx((cycle_a**2 * 0.1).mean())
    assert modulation_percent(cycle_a.max(), cycle_a.min()) == 100
    above_mean = np.maximum(cycle_a - cycle_a.mean(), 0).sum()
    assert pwm_flicker_index(0.25) == pytest.approx(above_mean / cycle_a.sum())
    assert pwm_flicker_index(np.array([0, 1])).tolist() == [0, 0]


def test_flicker():
    # IEEE 1789-2015, low risk, from memory: 100 % from 1250 Hz on, 8 % at 100 Hz
    hertz = np.array([60, 90, 100, 1000, 1250, 20_000])
    assert low_risk_modulation_percent(hertz) == pytest.approx([1.5, 7.2, 8, 80, 100, 100])
    assert [flicker_limit_percent(one) for one in hertz] == pytest.approx(low_risk_modulation_percent(hertz))
    assert flicker_limit_percent(1000, "no effect known") == pytest.approx(33.3)
    with pytest.raises(UnknownKey, match="no flicker limit 'none' at 50 Hz; known: low risk, no effect known"):
        flicker_limit_percent(50, "none")
    assert {row.standing for row in flicker_limits()} == {"memory"}


def test_surface_of_tape():
    # 8 to 15 W/(m2 K), 70 % heat, 10 mm: ranges printed to a kelvin
    for w_per_m, sides, low_k, high_k in (
        (4.8, 2, 11, 21),
        (4.8, 1, 22, 42),
        (14.4, 2, 34, 63),
        (14.4, 1, 67, 126),
    ):
        assert tape_surface_low_c(w_per_m, 25, sides) - 25 == pytest.approx(low_k, abs=0.5)
        assert tape_surface_high_c(w_per_m, 25, sides) - 25 == pytest.approx(high_k, abs=0.5)
    # 43 °C on skin at 25 °C air, in still air: 2.1 W/m
    assert tape_power_allowed_w_per_m(43, 25) == pytest.approx(2.057, abs=LAST_PRINTED_DIGIT)
    assert tape_surface_high_c(tape_power_allowed_w_per_m(43, 25), 25) == pytest.approx(43)


def test_touch():
    # ECMA-287 as quoted on a web page; ISO 13732-1 from memory; burn institute's figures on a mailing list
    rows = {(row.surface, row.seconds): (row.surface_c, row.standing) for row in touch_limits()}
    assert rows["any, held", 28800] == (43, "read")
    assert [rows["any", seconds] for seconds in (60, 600, 28800)] == [(51, "memory"), (48, "memory"), (43, "memory")]
    assert [rows[surface, 30][0] for surface in ("metal", "glass", "plastic")] == [55, 65, 80]
    assert rows["metal, touched", 10][0] < rows["other than metal, touched", 10][0]
