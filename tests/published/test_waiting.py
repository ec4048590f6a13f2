"""Queues, runs of lost frames, duty and energy. Derived, textbook forms; energy by a published node model."""

import pytest

from showplan.physics.air_time import frame_air_time_ms, frames_per_second
from showplan.physics.waiting import (
    fixed_service_wait_ms,
    longest_stale_s,
    lost_runs_per_s,
    radio_energy_mj,
    sending_share,
)


@pytest.mark.parametrize(("utilisation", "wait_ms"), [(0.5, 3.0), (0.7, 7.0)])
def test_queue(utilisation, wait_ms):
    # single server, random arrivals, fixed service: textbook form, from memory
    assert fixed_service_wait_ms(utilisation, 6) == pytest.approx(wait_ms)


@pytest.mark.parametrize(
    ("loss", "hz", "run", "per_s", "every_s"), [(0.05, 40, 3, 0.00475, 210.5), (0.02, 30, 2, 0.01176, 85.03)]
)
def test_runs(loss, hz, run, per_s, every_s):
    found = lost_runs_per_s(loss, hz, run)
    assert found == pytest.approx(per_s)
    assert 1 / found == pytest.approx(every_s, abs=0.05)
    # the run that is expected once in that time is this one, and levels are stale until the frame after it
    assert longest_stale_s(loss, hz, 1 / found) == pytest.approx((run + 1) / hz)


def test_without_losses_levels_are_as_old_as_a_frame():
    assert longest_stale_s(0, 40) == pytest.approx(1 / 40)


@pytest.mark.parametrize(
    ("air_ms", "by_percent"),
    # budgets of European bands, 0.1, 1 and 10 % of the time; air times of the standard's PHYs
    [
        (5.28, {0.1: 0.189, 1: 1.894, 10: 18.94}),
        (10.64, {0.1: 0.094, 1: 0.940, 10: 9.40}),
        (26.4, {0.1: 0.0379, 1: 0.379, 10: 3.79}),
        (11.52, {1: 0.868, 10: 8.68}),
        (5.76, {1: 1.736, 10: 17.36}),
        (2.88, {1: 3.472, 10: 34.72}),
    ],
)
def test_frames_in_a_duty_budget(air_ms, by_percent):
    for percent, per_s in by_percent.items():
        assert frames_per_second(air_ms, percent / 100) == pytest.approx(per_s, rel=0.003)


def test_a_live_stream_breaks_one_percent():
    assert sending_share(5.28, 20) == pytest.approx(0.1056)


@pytest.mark.parametrize(
    ("current_ma", "bit_rate_kbps", "energy_mj"),
    # published node model: 20 mA sending, 22 mA receiving; 30 mA for sub-GHz from memory; 127 octets, 3.3 V
    [(20, 250, 0.2809), (22, 250, 0.3090), (30, 100, 1.053), (30, 20, 5.267)],
)
def test_energy(current_ma, bit_rate_kbps, energy_mj):
    air_ms = frame_air_time_ms(127, bit_rate_kbps)
    assert radio_energy_mj(current_ma, 3.3, air_ms) == pytest.approx(energy_mj, abs=0.0006)
