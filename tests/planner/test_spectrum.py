"""Is it legal and quiet here? Findings against the region table and the occupied spectrum."""

import dataclasses

import pytest

from showplan.planner.analysis import Analysis
from showplan.planner.findings import Finding
from showplan.planner.scene import Network, OccupiedSpectrum, Scene
from showplan.planner.spectrum import kit_findings, spectrum_findings
from tests.scenes import hall, with_all_node_types, with_venue


def in_region(region: str, phy: str = "oqpsk-2450", radio_channel: int = 25, **radio: float) -> Scene:
    scene = hall(networks=(Network(name="Show", phy=phy, radio_channel=radio_channel, pan_id=1),), occupied_spectrum=())
    return with_venue(with_all_node_types(scene, phy=phy, **radio), region=region)


def findings(scene: Scene) -> dict[str, Finding]:
    return {finding.code: finding for finding in spectrum_findings(Analysis(scene))}


@pytest.mark.parametrize("region", ["us", "eu", "uk", "jp", "au", "nz"])
def test_a_milliwatt_at_2_4_ghz_is_within_every_listed_limit(region: str) -> None:
    found = findings(in_region(region, transmit_power_dbm=0.0))
    assert set(found) == {"within-limit"}
    assert "the regulator decides" in found["within-limit"].source


def test_915_mhz_is_in_no_listed_band_in_the_eu() -> None:
    found = findings(in_region("eu", "oqpsk-915", 5))
    assert found["band-not-listed"].severity == "stop"
    assert findings(in_region("us", "oqpsk-915", 5))["within-limit"].severity == "note"


def test_the_868_mhz_channel_is_limited_to_one_percent_in_the_eu() -> None:
    """Source: EU band M, 868.0-868.6 MHz, 25 mW ERP, 1 % duty, as in the region table."""
    found = findings(in_region("eu", "bpsk-868", 0, transmit_power_dbm=10.0))
    assert found["duty-limited"].severity == "warn"
    assert "1 %" in found["duty-limited"].sentence
    # 53.2 ms for 127 + 6 octets at 20 kbit/s: 0.188 a second in 1 % (IEEE 802.15.4 rates, by hand)
    assert "0.188 of its longest frames a second" in found["duty-limited"].sentence
    assert "or equivalent access technique" in found["duty-limited"].remedy
    numbers = {quantity.name: quantity.value for quantity in found["duty-limited"].quantities}
    assert numbers["sending at most"] == pytest.approx(36)
    assert numbers["longest frames"] == pytest.approx(0.188, abs=5e-4)


def test_the_japanese_hourly_limit_and_listening_are_named() -> None:
    """922 MHz, 2 MHz wide, reaches into unit channels 33 to 38: 360 s per hour (ARIB STD-T108, secondary source)."""
    finding = findings(in_region("jp", "oqpsk-915", 9, transmit_power_dbm=0.0))["time-limited"]
    assert finding.severity == "note"
    assert "360 s in 3600 s: 23.5 of its longest frames a second" in finding.sentence
    assert "less than -80 dBm for 128 µs" in finding.remedy
    assert "ARIB STD-T108 v1.5, as of 2023-03-03" in finding.source


def test_a_channel_without_a_time_limit_says_so() -> None:
    for phy, channel in (("oqpsk-915", 5), ("oqpsk-2450", 20)):
        finding = findings(in_region("us", phy, channel))["within-limit"]
        assert "no duty or dwell limit is listed" in finding.sentence


def test_excess_power_is_told_in_db() -> None:
    """EU 2.4 GHz: 10 dBm/MHz, so 13.010 dBm for a flat 2 MHz (EN 300 328, as in the region table)."""
    over = findings(in_region("eu", transmit_power_dbm=16.0, antenna_gain_dbi=2.0))["power-over-limit"]
    assert over.severity == "stop"
    assert "5.0 dB over" in over.sentence
    assert findings(in_region("eu", transmit_power_dbm=11.0, antenna_gain_dbi=2.0, cable_loss_db=0.0))["within-limit"]


def test_an_antenna_above_6_dbi_lowers_the_conducted_limit() -> None:
    """47 CFR 15.247(b)(4): 9 dBi leaves 27 dBm conducted, 36 dBm EIRP (worked in the reference table's source)."""
    at_limit = findings(in_region("us", transmit_power_dbm=27.0, antenna_gain_dbi=9.0))
    assert set(at_limit) == {"within-limit"}
    over = findings(in_region("us", transmit_power_dbm=28.0, antenna_gain_dbi=9.0))["power-over-limit"]
    assert "1.0 dB over" in over.sentence


def test_unknown_channel_other_phy_and_unlisted_region_are_findings() -> None:
    assert findings(in_region("us", radio_channel=3))["radio-channel-unknown"].severity == "stop"
    mixed = dataclasses.replace(in_region("us"), node_types=hall().node_types)
    mixed = dataclasses.replace(mixed, networks=(Network(name="Show", phy="oqpsk-915", radio_channel=5, pan_id=1),))
    assert findings(mixed)["phy-mismatch"].severity == "stop"
    ask = findings(in_region("other"))["region-without-table"]
    assert ask.severity == "warn"
    assert ask.remedy.startswith("Ask ")


@pytest.mark.parametrize(("centre_mhz", "shared"), [(2462.0, False), (2475.0, True), (2486.1, False), (2485.9, True)])
def test_overlap_with_a_20_mhz_occupant(centre_mhz: float, shared: bool) -> None:
    """Radio channel 25 is 2475 MHz, 2 MHz wide: clear from 11 MHz on (802.15.4 channel list; Wi-Fi width 20 MHz)."""
    scene = dataclasses.replace(
        in_region("us"), occupied_spectrum=(OccupiedSpectrum(label="House", centre_mhz=centre_mhz, bandwidth_mhz=20.0),)
    )
    assert ("spectrum-shared" in findings(scene)) is shared


def test_only_networks_that_are_used_here_are_judged() -> None:
    scene = in_region("eu", "oqpsk-915", 5)
    nowhere = tuple(dataclasses.replace(node, placement=None) for node in scene.nodes)
    assert findings(dataclasses.replace(scene, nodes=nowhere)) == {}


def test_the_kit_is_judged_before_it_is_placed() -> None:
    scene = in_region("eu", "oqpsk-915", 5)
    nowhere = dataclasses.replace(scene, nodes=tuple(dataclasses.replace(node, placement=None) for node in scene.nodes))
    assert {finding.code for finding in kit_findings(nowhere)} == {"band-not-listed"}
    assert list(kit_findings(scene)) == list(kit_findings(nowhere))
    assert list(kit_findings(dataclasses.replace(scene, nodes=()))) == []
