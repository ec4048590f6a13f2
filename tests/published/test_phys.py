"""IEEE 802.15.4 PHYs: channel plans, rates and air time of one octet."""

import pytest

from showplan.reference import phys


@pytest.mark.parametrize(
    ("key", "radio_channel", "centre_mhz"),
    # IEEE 802.15.4 channel plan, read in public source files
    [
        ("bpsk-868", 0, 868.3),
        ("bpsk-915", 1, 906),
        ("bpsk-915", 10, 924),
        ("oqpsk-915", 5, 914),
        ("oqpsk-2450", 11, 2405),
        ("oqpsk-2450", 18, 2440),
        ("oqpsk-2450", 26, 2480),
        ("sun-fsk-863", 0, 863.125),  # a public driver: mode 1, 200 kHz apart
        ("sun-fsk-863", 1, 863.325),
    ],
)
def test_centre_frequencies(key, radio_channel, centre_mhz):
    assert phys()[key].centre_frequency_mhz(radio_channel) == pytest.approx(centre_mhz)


@pytest.mark.parametrize(
    ("key", "octet_us", "longest_frame_ms", "sensitivity_dbm", "standing"),
    # 802.15.4-2006 Tables 1, 19, 20; 6.6.3.4 and 6.5.3.3; 127 + 6 octets; sub-GHz O-QPSK from memory
    [
        ("bpsk-868", 400, 53.2, -92, "read"),
        ("bpsk-915", 200, 26.6, -92, "read"),
        ("oqpsk-868", 80, 10.64, -85, "memory"),
        ("oqpsk-915", 32, 4.256, -85, "memory"),
        ("oqpsk-2450", 32, 4.256, -85, "read"),
    ],
)
def test_rates_and_sensitivity(key, octet_us, longest_frame_ms, sensitivity_dbm, standing):
    phy = phys()[key]
    header_us = (phy.shr_symbols + phy.phr_symbols) * phy.symbol_time_us
    assert phy.octet_time_us == pytest.approx(octet_us)
    assert 8000 / phy.bit_rate_kbps == pytest.approx(octet_us)
    assert (header_us + 127 * phy.octet_time_us) / 1000 == pytest.approx(longest_frame_ms)
    assert (phy.required_sensitivity_dbm, phy.standing) == (sensitivity_dbm, standing)


@pytest.mark.parametrize(
    ("key", "air_time_ms"),
    # 26 octets, headers included, at the rates of IEEE 802.15.4-2006 Table 1: by hand
    [("oqpsk-2450", 0.832), ("bpsk-868", 10.4), ("bpsk-915", 5.2), ("oqpsk-868", 2.08), ("oqpsk-915", 0.832)],
)
def test_air_time_of_a_short_frame(key, air_time_ms):
    assert 26 * phys()[key].octet_time_us / 1000 == pytest.approx(air_time_ms)
