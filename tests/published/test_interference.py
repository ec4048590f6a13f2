"""Overlap with wireless LAN, rejection of other radio channels, and the ratio that is left."""

import pytest

from showplan.physics.decibels import add_powers_dbm
from showplan.physics.interference import (
    interference_after_rejection_dbm,
    overlap_share,
    required_rejection_db,
    sinr_db,
)
from showplan.reference import phys
from showplan.reference.interference import LAN_SPREAD_WIDTH_MHZ, LAN_WIDTH_MHZ, lan_centre_mhz, rejections
from showplan.reference.standing import UnknownRadioChannel
from tests.published.tolerances import LAST_PRINTED_DIGIT_DB

PHY = phys()["oqpsk-2450"]


def share(radio_channel, lan_channel, lan_width_mhz):
    """Share of the LAN signal in the radio channel's 2 MHz."""
    centre_mhz = PHY.centre_frequency_mhz(radio_channel)
    return overlap_share(centre_mhz, PHY.occupied_bandwidth_mhz, lan_centre_mhz(lan_channel), lan_width_mhz)


@pytest.mark.parametrize(("lan_channel", "centre_mhz"), [(1, 2412), (6, 2437), (11, 2462), (13, 2472), (14, 2484)])
def test_lan_centres(lan_channel, centre_mhz):
    # IEEE 802.11, 2.4 GHz, from memory
    assert lan_centre_mhz(lan_channel) == centre_mhz


@pytest.mark.parametrize("lan_width_mhz", [LAN_WIDTH_MHZ, LAN_SPREAD_WIDTH_MHZ])
@pytest.mark.parametrize(
    ("lan_channels", "clear"),
    [
        ((1, 6, 11), [15, 20, 25, 26]),  # read in a public source file
        ((1, 7, 13), [15, 16, 21, 22]),  # derived; matches the standard's European list (from memory)
        ((1, 5, 9, 13), []),  # derived
    ],
)
def test_clear_radio_channels(lan_channels, clear, lan_width_mhz):
    found = [
        channel for channel in PHY.radio_channels if not any(share(channel, k, lan_width_mhz) for k in lan_channels)
    ]
    assert found == clear


@pytest.mark.parametrize(
    ("radio_channel", "first_lan", "last_lan"),
    # derived: 22 MHz wide LAN channels (of 1 to 13) that overlap a 2 MHz wide radio channel
    [
        (11, 1, 1),
        (12, 1, 2),
        (13, 1, 3),
        (14, 1, 4),
        (15, 2, 5),
        (16, 3, 6),
        (17, 4, 7),
        (18, 5, 8),
        (19, 6, 9),
        (20, 7, 10),
        (21, 8, 11),
        (22, 9, 12),
        (23, 10, 13),
        (24, 11, 13),
        (25, 12, 13),
        (26, 13, 13),
    ],
)
def test_overlapping_lan_channels(radio_channel, first_lan, last_lan):
    found = [k for k in range(1, 14) if share(radio_channel, k, LAN_SPREAD_WIDTH_MHZ) > 0]
    assert found == list(range(first_lan, last_lan + 1))


def test_a_radio_channel_inside_a_lan_channel_gets_its_share():
    # derived: 2 of 22 MHz, the other way round all of it
    assert share(12, 1, LAN_SPREAD_WIDTH_MHZ) == pytest.approx(2 / 22)
    assert overlap_share(2412, 22, 2410, 2) == 1


@pytest.mark.parametrize(("offset_mhz", "rejection_db"), [(0, 0), (5, 0), (-5, 0), (10, 30), (-10, 30), (25, 30)])
def test_required_rejection(offset_mhz, rejection_db):
    # IEEE 802.15.4 jamming resistance: 0 dB adjacent, 30 dB alternate; from memory
    assert required_rejection_db(offset_mhz) == rejection_db


def test_rejection_stays_marked_as_remembered():
    # measured parts read in public data: 27 to 35 dB adjacent, 47 to 50 dB alternate
    assert {row.standing for row in rejections()} == {"memory"}
    assert [(row.measured_low_db, row.measured_high_db) for row in rejections()] == [(27, 35), (47, 50)]


def test_three_equal_interferers():
    # derived: 3 of -80 dBm are -75.229 dBm; without noise the ratio of a -70 dBm signal is the difference
    total_dbm = add_powers_dbm(add_powers_dbm(-80, -80), -80)
    assert total_dbm == pytest.approx(-75.229, abs=LAST_PRINTED_DIGIT_DB)
    assert sinr_db(-70, float("-inf"), total_dbm) == pytest.approx(5.229, abs=LAST_PRINTED_DIGIT_DB)


def test_alternate_channel_at_the_standards_limit():
    # IEEE 802.15.4, from memory: wanted -82 dBm, alternate channel 30 dB stronger counts like the wanted one
    counted_dbm = interference_after_rejection_dbm(-52, required_rejection_db(10))
    assert counted_dbm == pytest.approx(-82)
    # derived: half of the power in the band is 3.010 dB less
    assert interference_after_rejection_dbm(-52, 30, 0.5) == pytest.approx(-85.010, abs=LAST_PRINTED_DIGIT_DB)


def test_unknown_lan_channel_names_the_allowed_ones():
    with pytest.raises(UnknownRadioChannel, match="no channel 15; allowed: 1 to 14"):
        lan_centre_mhz(15)
