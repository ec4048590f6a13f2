"""Air time against the figures of the standard's PHYs and of published closed forms."""

import pytest

from showplan import reference
from showplan.physics.air_time import frame_air_time_ms

# IEEE 802.15.4-2006 tables 1, 19, 20, read as constants of a public network simulator: symbols a second, symbols of the
# synchronisation and PHY headers; the times follow from them. Milliseconds for PSDUs of 20, 60 and 127 octets and for
# an acknowledgement (5 octets).
STANDARD_MS = {
    "bpsk-868": (10.400, 26.400, 53.200, 4.400),
    "bpsk-915": (5.200, 13.200, 26.600, 2.200),
    "oqpsk-868": (2.080, 5.280, 10.640, 0.880),
    "oqpsk-915": (0.832, 2.112, 4.256, 0.352),
    "oqpsk-2450": (0.832, 2.112, 4.256, 0.352),
}
A_NANOSECOND_MS = 1e-6


@pytest.mark.parametrize(("phy", "times_ms"), STANDARD_MS.items())
def test_air_time_of_the_standard_phys(phy: str, times_ms: tuple[float, ...]) -> None:
    rate_kbps = reference.phys()[phy].bit_rate_kbps
    for octets, time_ms in zip((20, 60, 127, 5), times_ms, strict=True):
        assert frame_air_time_ms(octets, rate_kbps) == pytest.approx(time_ms, abs=A_NANOSECOND_MS)


@pytest.mark.parametrize("phy", STANDARD_MS)
def test_the_same_by_symbols(phy: str) -> None:
    """The table's header symbols and symbol time give the same air time as octets and bit rate."""
    row = reference.phys()[phy]
    symbols = row.shr_symbols + row.phr_symbols + 127 * 8 / row.bits_per_symbol
    assert frame_air_time_ms(127, row.bit_rate_kbps) == pytest.approx(symbols * row.symbol_time_us / 1000)
