"""Serial lines, ANSI E1.11 and E1.31, buffers. Sources beside each check; arithmetic where none is named."""

import numpy as np
import pytest

from showplan.physics.feeds import (
    burst_backlog_octets,
    divider_error_percent,
    e111_packet_ms,
    e131_packet_octets,
    escaping_factor,
    fastest_baud_percent,
    line_time_ms,
    serial_octets_per_s,
    slowest_baud_percent,
    stream_frames_per_s,
)


@pytest.mark.parametrize(("baud", "octets"), [(57_600, 5760), (9_600, 960), (38_400, 3840), (115_200, 11_520)])
def test_octets_of_a_line(baud, octets):
    # a start bit, eight data bits and a stop bit
    assert serial_octets_per_s(baud) == octets
    assert serial_octets_per_s(57_600, 8, 1, 1) == pytest.approx(5236.4, abs=0.05)


@pytest.mark.parametrize(
    ("overhead", "rates"),
    [
        (0, {512: 11.25, 256: 22.5, 192: 30, 128: 45}),
        (5, {512: 11.141, 256: 22.069, 128: 43.308, 96: 57.03, 64: 83.478}),
    ],
)
def test_frames_of_a_line(overhead, rates):
    for slots, hz in rates.items():
        assert stream_frames_per_s(slots, overhead, 5760) == pytest.approx(hz, abs=0.0006)


@pytest.mark.parametrize(("hz", "slots"), [(10, 571), (20, 283), (25, 225), (30, 187), (40, 139), (44, 125)])
def test_most_slots_at_a_rate(hz, slots):
    assert stream_frames_per_s(slots, 5, 5760) >= hz > stream_frames_per_s(slots + 1, 5, 5760)


def test_escaping():
    assert 100 * (escaping_factor(2) - 1) == pytest.approx(0.781, abs=0.0006)


@pytest.mark.parametrize(
    ("samples", "bits", "slow", "fast"),
    # table on a chip maker's page on the error tolerance of its receiver
    [(16, 8, 95.36, 104.58), (16, 9, 95.81, 104.14), (16, 7, 94.81, 105.11), (8, 8, 96.00, 103.90)],
)
def test_receiver_tolerance(samples, bits, slow, fast):
    assert slowest_baud_percent(bits, samples) == pytest.approx(slow, abs=0.011)
    assert fastest_baud_percent(bits, samples) == pytest.approx(fast, abs=0.011)


@pytest.mark.parametrize(
    ("clock_mhz", "samples", "percent"),
    [
        (8, 16, -3.549),
        (16, 16, 2.124),
        (16, 8, -0.794),
        (24, 16, 0.160),
        (48, 16, 0.160),
        (14.7456, 16, 0.0),
    ],
)
def test_divider(clock_mhz, samples, percent):
    assert divider_error_percent(clock_mhz, 57_600, samples) == pytest.approx(percent, abs=0.0006)


def test_buffers():
    sizes = np.array([64.0, 128.0, 256.0, 512.0])
    assert line_time_ms(sizes, 5760) == pytest.approx([11.11, 22.22, 44.44, 88.89], abs=0.006)
    assert line_time_ms(100, 5760) == pytest.approx(17.361, abs=0.0006)
    assert line_time_ms(517, 5760) == pytest.approx(89.757, abs=0.0006)
    backlog = burst_backlog_octets(512, 5760, 4000)
    assert backlog == pytest.approx(156.44, abs=0.006)
    assert 1000 * backlog / 4000 == pytest.approx(39.1, abs=0.02)


@pytest.mark.parametrize(
    ("slots", "time_ms", "hz"),
    # ANSI E1.11-2008 timing, from memory: break 92, mark 12, slot 44 microseconds, 1,204 from break to break
    [
        (24, 1.204, 830.56),
        (64, 2.964, 337.38),
        (128, 5.780, 173.01),
        (256, 11.412, 87.627),
        (512, 22.676, 44.099),
    ],
)
def test_e111(slots, time_ms, hz):
    assert e111_packet_ms(slots) == pytest.approx(time_ms)
    assert 1000 / e111_packet_ms(slots) == pytest.approx(hz, abs=0.006)


def test_e111_ceiling():
    # a public page on the standard: 44 Hz with 512 slots and almost 20 times more with fewer; 1990 edition 22,668 us
    assert e111_packet_ms(512) / e111_packet_ms(24) == pytest.approx(18.83, abs=0.006)
    assert e111_packet_ms(512, 88, 8) == pytest.approx(22.668)
    assert 1000 / e111_packet_ms(512, 88, 8) == pytest.approx(44.115, abs=0.0006)
    assert 512 / e111_packet_ms(512) == pytest.approx(22.5789, abs=0.00006)  # data octets a millisecond


def test_e131():
    # ANSI E1.31 packet layout, from memory; IP, UDP, link, preamble and gap from public pages
    assert e131_packet_octets(512) == 638
    assert e131_packet_octets(512) + 28 == 666
    assert e131_packet_octets(512) + 28 + 18 == 684
    on_the_wire = e131_packet_octets(512) + 28 + 18 + 20
    assert on_the_wire == 704
    assert on_the_wire * 8 * 44 / 1000 == pytest.approx(247.8, abs=0.06)
    assert 512 / on_the_wire == pytest.approx(0.727, abs=0.0006)
    assert 100e6 // (on_the_wire * 8 * 44) == 403
