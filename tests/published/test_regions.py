"""Regional limits and their conversions; each row names the text it was checked against."""

import pytest

from showplan.physics.air_time import frames_per_second
from showplan.physics.decibels import dbm_from_mw
from showplan.physics.link_budget import eirp_from_erp_dbm
from showplan.reference import phys, region_rules
from tests.published.tolerances import HUNDREDTH_DB


def only_rule(region, low_mhz, high_mhz, **wanted):
    """The one rule of the region with exactly this band and these attributes."""
    found = [
        rule
        for rule in region_rules(region)
        if (rule.low_mhz, rule.high_mhz) == (low_mhz, high_mhz)
        and all(getattr(rule, name) == value for name, value in wanted.items())
    ]
    assert len(found) == 1
    return found[0]


@pytest.mark.parametrize(
    ("erp_mw", "erp_dbm", "limit_eirp_dbm"),
    # EIRP = ERP + 2.15 dB, gain of a half-wave dipole (from memory)
    [(5, 6.990, 9.140), (10, 10.000, 12.150), (25, 13.979, 16.129), (500, 26.990, 29.140)],
)
def test_erp_as_eirp(erp_mw, erp_dbm, limit_eirp_dbm):
    assert dbm_from_mw(erp_mw) == pytest.approx(erp_dbm, abs=HUNDREDTH_DB)
    assert eirp_from_erp_dbm(erp_dbm) == pytest.approx(limit_eirp_dbm, abs=HUNDREDTH_DB)


@pytest.mark.parametrize(
    ("low_mhz", "high_mhz", "duty_percent", "limit_eirp_dbm", "access"),
    [
        (863, 865, 0.1, 16.129, "or polite access"),  # 2006/771/EC band K; public source files
        (865, 868, 1, 16.129, ""),  # 2006/771/EC band L; public source files
        (868, 868.6, 1, 16.129, "or equivalent access technique"),  # (EU) 2017/1483 by UN-39, band M
        (868.7, 869.2, 0.1, 16.129, ""),  # (EU) 2017/1483 by UN-39, band N
        (869.4, 869.65, 10, 29.140, ""),  # (EU) 2017/1483 by UN-39, band P
        (869.7, 870, None, 9.140, ""),  # national order of 2025, row 56a
        (869.7, 870, 1, 16.129, ""),  # national order of 2025, row 56a
    ],
)
@pytest.mark.parametrize(("region", "standing"), [("eu", "read"), ("uk", "memory")])
def test_868_mhz_bands(region, standing, low_mhz, high_mhz, duty_percent, limit_eirp_dbm, access):
    rule = only_rule(region, low_mhz, high_mhz, duty_percent=duty_percent)
    assert rule.limit_eirp_dbm == pytest.approx(limit_eirp_dbm, abs=HUNDREDTH_DB)
    assert (rule.access, rule.standing) == (access, standing)


@pytest.mark.parametrize(("low_mhz", "high_mhz"), [(902, 928), (2400, 2483.5)])
def test_us_bands(low_mhz, high_mhz):
    wide = only_rule("us", low_mhz, high_mhz, limit_kind="conducted", min_hop_channels=None)
    # 47 CFR 15.247(b)(3), (b)(4): 1 W conducted, 9 dBi -> 27 dBm, 36 dBm EIRP
    assert wide.limit_conducted_dbm(0) == pytest.approx(30, abs=HUNDREDTH_DB)
    assert wide.limit_conducted_dbm(9) == pytest.approx(27, abs=HUNDREDTH_DB)
    assert wide.limit_eirp_dbm == pytest.approx(36, abs=HUNDREDTH_DB)
    # 47 CFR 15.247(a)(2)
    assert wide.min_bandwidth_khz == 500
    # 47 CFR 15.249(a), 30 Sep 2024: 50 mV/m at 3 m
    narrow = only_rule("us", low_mhz, high_mhz, limit_kind="eirp")
    assert narrow.limit_eirp_dbm == pytest.approx(-1.249, abs=HUNDREDTH_DB)
    assert narrow.min_bandwidth_khz is None


@pytest.mark.parametrize(
    ("region", "low_mhz", "high_mhz", "limit_eirp_dbm"),
    [
        ("eu", 2400, 2483.5, 20),  # wireless-regdb 2026.05.30, DE and FR
        ("uk", 2400, 2483.5, 20),  # wireless-regdb 2026.05.30, GB
        ("jp", 920.5, 923.5, 16),  # ARIB STD-T108: 13 dBm conducted, 3 dBi (secondary source)
        ("jp", 2402, 2482, 20),  # wireless-regdb 2026.05.30, JP
        ("au", 915, 928, 30),  # wireless-regdb 2026.05.30, AU
        ("au", 2400, 2483.5, 36.02),  # wireless-regdb 2026.05.30, AU
        ("nz", 864, 868, 30),  # gazette notice 2020-go5414: above 0 dBW only on conditions
        ("nz", 915, 928, 30),  # from memory
        ("nz", 2400, 2483.5, 36),  # wireless-regdb 2026.05.30, NZ
    ],
)
def test_other_limits(region, low_mhz, high_mhz, limit_eirp_dbm):
    rule = only_rule(region, low_mhz, high_mhz)
    assert rule.limit_eirp_dbm == pytest.approx(limit_eirp_dbm, abs=HUNDREDTH_DB)


@pytest.mark.parametrize(
    ("region", "low_mhz", "density_bandwidth_khz", "occupied_mhz", "flat_dbm"),
    [
        ("us", 902, 3, 0.5, 30.218),  # 47 CFR 15.247(e)
        ("us", 902, 3, 0.6, 31.010),  # 47 CFR 15.247(e)
        ("us", 2400, 3, 2, 36.239),  # 47 CFR 15.247(e)
        ("eu", 2400, 1000, 2, 13.010),  # EN 300 328 clause 4.3.2.2.2
        ("au", 915, 3, 0.125, 30.177),  # F2016L00636: 25 mW per 3 kHz
    ],
)
def test_density_limits(region, low_mhz, density_bandwidth_khz, occupied_mhz, flat_dbm):
    (rule,) = [
        rule
        for rule in region_rules(region)
        if rule.low_mhz == low_mhz and rule.density_bandwidth_khz == density_bandwidth_khz
    ]
    antenna_dbi = rule.max_antenna_gain_dbi or 0
    expected = min(flat_dbm, rule.limit_dbm) + antenna_dbi
    computed = rule.limit_eirp_in_bandwidth_dbm(occupied_mhz)
    assert computed == pytest.approx(expected, abs=HUNDREDTH_DB)
    # a thousandth of the width is far below the power limit, so the density alone decides there
    narrow = rule.limit_eirp_in_bandwidth_dbm(occupied_mhz / 1000)
    assert narrow == pytest.approx(flat_dbm - 30 + antenna_dbi, abs=HUNDREDTH_DB)


@pytest.mark.parametrize(
    ("min_hop_channels", "window_s", "widths_khz", "limit_dbm"),
    # 47 CFR 15.247(a)(1)(i), 2021: below 250 kHz 50 channels, 0.4 s in 20 s; 250 to 500 kHz 25 channels, 0.4 s in 10 s.
    # 15.247(b)(2), from memory: 1 W with 50 channels, 0.25 W with 25.
    [(50, 20, (None, 250), 30), (25, 10, (250, 500), 23.979)],
)
def test_us_hopping_dwell(min_hop_channels, window_s, widths_khz, limit_dbm):
    rule = only_rule("us", 902, 928, min_hop_channels=min_hop_channels)
    assert (rule.dwell_s, rule.dwell_window_s) == (0.4, window_s)
    assert (rule.min_bandwidth_khz, rule.max_bandwidth_khz) == widths_khz
    assert rule.limit_dbm == pytest.approx(limit_dbm, abs=HUNDREDTH_DB)
    # with the least number of channels, each in turn, a hopper sends without a break
    assert rule.sending_share * min_hop_channels == pytest.approx(1)
    assert (rule.as_of, rule.standing) == ("2021", "memory")
    assert not rule.is_open_to(0.2)  # not to a network that stays on one radio channel


@pytest.mark.parametrize(
    ("unit_channel", "dwell_s"),
    # ARIB STD-T108, secondary source: unit channel n at 916.0 + 0.2 (n - 1) MHz, 33 to 38 at most 360 s per hour
    [(24, None), (32, None), (33, 360), (37, 360), (38, 360)],
)
def test_japanese_unit_channels(unit_channel, dwell_s):
    centre_mhz = 916.0 + 0.2 * (unit_channel - 1)
    covering = [rule for rule in region_rules("jp") if rule.covers(centre_mhz - 0.1, centre_mhz + 0.1)]
    assert max(covering, key=lambda rule: rule.sending_share).dwell_s == dwell_s
    # sense level -80 dBm for at least 128 us, 13 dBm conducted with 3 dBi
    assert {(rule.sense_dbm, rule.sense_us, rule.limit_dbm) for rule in covering} == {(-80, 128, 13)}
    assert {rule.dwell_window_s for rule in covering} <= {None, 3600}


@pytest.mark.parametrize(
    ("duty_percent", "seconds_per_hour"),
    [(0.1, 3.6), (1, 36), (10, 360)],  # arithmetic on the duty figures of 2006/771/EC
)
def test_duty_as_seconds_per_hour(duty_percent, seconds_per_hour):
    shares = {rule.sending_share for rule in region_rules("eu") if rule.duty_percent == duty_percent}
    assert len(shares) == 1
    assert 3600 * shares.pop() == pytest.approx(seconds_per_hour)


@pytest.mark.parametrize(
    ("key", "longest_frame_ms", "frames_at_1_percent"),
    # 127 + 6 octets (from memory) at the rates of IEEE 802.15.4: air time worked out by hand, 0.01 s over it
    [("bpsk-868", 53.2, 0.188), ("oqpsk-868", 10.64, 0.940), ("oqpsk-2450", 4.256, 2.350)],
)
def test_longest_frames_a_second_in_a_duty_band(key, longest_frame_ms, frames_at_1_percent):
    phy = phys()[key]
    assert phy.longest_frame_ms == pytest.approx(longest_frame_ms)
    for factor in (0.1, 1, 10):
        frames = frames_per_second(phy.longest_frame_ms, 0.01 * factor)
        assert frames == pytest.approx(frames_at_1_percent * factor, rel=3e-3)


def test_no_rules_where_none_are_held():
    assert region_rules("other") == ()
