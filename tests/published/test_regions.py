"""Regional limits and their conversions; each row names the text it was checked against."""

import pytest

from showplan.physics.decibels import dbm_from_mw
from showplan.physics.link_budget import eirp_from_erp_dbm
from showplan.reference import region_rules
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
    wide = only_rule("us", low_mhz, high_mhz, limit_kind="conducted")
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


def test_no_rules_where_none_are_held():
    assert region_rules("other") == ()
