"""Every shipped table loads, each row says where it comes from, and look-ups refuse what they cannot know."""

import csv
import dataclasses

import pytest

from showplan.reference import (
    OutsideTable,
    ReferenceLookupError,
    UnknownKey,
    UnknownRadioChannel,
    body_loss_db,
    body_losses,
    environments,
    materials,
    phys,
    region_rules,
    regions,
)
from showplan.reference.batteries import battery_chemistries, battery_presets, battery_temperatures
from showplan.reference.carriage import carriage_rules
from showplan.reference.crowd import crowds
from showplan.reference.fuses import fuse_breaking, fuse_gates, fuse_series, pulse_life
from showplan.reference.indoor import alpha_beta_gamma, floor_losses, indoor_shadowing, power_losses
from showplan.reference.limits import flicker_limits, touch_limits, voltage_limits
from showplan.reference.loads import load_presets
from showplan.reference.standing import STANDINGS
from showplan.reference.switches import switch_examples
from showplan.reference.table import DATA_FOLDER
from showplan.reference.wires import ambient_factors, awg_wires, grouping_factors, wires

TABLES = {
    "materials.csv": lambda: list(materials().values()),
    "phys.csv": lambda: list(phys().values()),
    "regions.csv": lambda: list(regions().values()),
    "region_rules.csv": lambda: [rule for key in regions() for rule in region_rules(key)],
    "environments.csv": lambda: list(environments().values()),
    "body_loss.csv": lambda: list(body_losses()),
    "crowd.csv": lambda: list(crowds()),
    "indoor_alpha_beta_gamma.csv": lambda: list(alpha_beta_gamma().values()),
    "indoor_floor_loss.csv": lambda: list(floor_losses()),
    "indoor_power_loss.csv": lambda: list(power_losses()),
    "indoor_shadowing.csv": lambda: list(indoor_shadowing()),
    "wires.csv": lambda: list(wires().values()),
    "awg_wires.csv": lambda: list(awg_wires().values()),
    "ambient_factors.csv": lambda: list(ambient_factors()),
    "grouping_factors.csv": lambda: list(grouping_factors()),
    "switch_examples.csv": lambda: list(switch_examples()),
    "fuse_series.csv": lambda: list(fuse_series().values()),
    "fuse_gates.csv": lambda: list(fuse_gates()),
    "fuse_breaking.csv": lambda: list(fuse_breaking().values()),
    "pulse_life.csv": lambda: list(pulse_life()),
    "battery_chemistries.csv": lambda: list(battery_chemistries().values()),
    "battery_temperatures.csv": lambda: list(battery_temperatures()),
    "battery_presets.csv": lambda: list(battery_presets().values()),
    "load_presets.csv": lambda: list(load_presets().values()),
    "carriage_rules.csv": lambda: list(carriage_rules().values()),
    "voltage_limits.csv": lambda: list(voltage_limits().values()),
    "touch_limits.csv": lambda: list(touch_limits()),
    "flicker_limits.csv": lambda: list(flicker_limits()),
}


def test_every_data_file_has_a_loader_here():
    assert {path.name for path in DATA_FOLDER.iterdir()} == set(TABLES)


@pytest.mark.parametrize("file", TABLES)
def test_every_record_has_source_and_standing_and_is_frozen(file):
    records = TABLES[file]()
    assert records
    for record in records:
        assert record.source
        assert record.standing in STANDINGS
        with pytest.raises(dataclasses.FrozenInstanceError):
            record.source = "elsewhere"


@pytest.mark.parametrize("file", TABLES)
def test_every_remembered_row_says_so_in_words(file):
    with (DATA_FOLDER / file).open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            words = f"{row['source']} {row['note']}"
            remembered = any(word in words for word in ("from memory", "no source", "no rules held"))
            assert row["standing"] != "memory" or remembered


def test_keys():
    assert list(regions()) == ["us", "eu", "uk", "jp", "au", "nz", "other"]
    assert list(phys()) == ["bpsk-868", "bpsk-915", "oqpsk-868", "oqpsk-915", "oqpsk-2450", "sun-fsk-863"]
    assert len(materials()) == 14
    assert {tuple(band.frequency_mhz for band in m.losses) for m in materials().values()} == {(868, 915, 2440)}


@pytest.mark.parametrize(
    ("frequency_mhz", "band_mhz"),
    # sqrt(868 * 915) = 891.2 and sqrt(915 * 2440) = 1494.2 MHz are where the nearest band changes
    [(100, 868), (891, 868), (892, 915), (1494, 915), (1495, 2440), (6000, 2440)],
)
def test_material_takes_the_nearest_band(frequency_mhz, band_mhz):
    material = materials()["brick-102"]
    assert material.band_loss(frequency_mhz).frequency_mhz == band_mhz
    assert material.loss_db(frequency_mhz) == material.loss_db(band_mhz)


@pytest.mark.parametrize("frequency_mhz", [99, 6001, 0, -5, float("nan")])
def test_tables_refuse_far_frequencies(frequency_mhz):
    with pytest.raises(OutsideTable, match="100 to 6000 MHz"):
        materials()["metal"].loss_db(frequency_mhz)
    with pytest.raises(OutsideTable, match="100 to 6000 MHz"):
        body_loss_db(frequency_mhz, "side")


@pytest.mark.parametrize("key", ["concrete-150", "brick-200", "plasterboard-26", "chipboard-18"])
def test_extrapolated_rows_say_so(key):
    assert "extrapolated" in materials()[key].band_loss(868).note
    assert materials()[key].band_loss(2440).note == ""


@pytest.mark.parametrize("key", ["wood-20", "glass-6"])
def test_rows_inside_their_range_are_not_marked(key):
    assert {band.note for band in materials()[key].losses} == {""}


@pytest.mark.parametrize(
    ("key", "radio_channel", "allowed"),
    [
        ("bpsk-868", 1, "only 0"),
        ("oqpsk-868", -1, "only 0"),
        ("bpsk-915", 0, "1 to 10"),
        ("oqpsk-915", 11, "1 to 10"),
        ("oqpsk-2450", 10, "11 to 26"),
        ("oqpsk-2450", 27, "11 to 26"),
        ("oqpsk-2450", 11.5, "11 to 26"),
    ],
)
def test_unknown_radio_channel_names_the_allowed_ones(key, radio_channel, allowed):
    with pytest.raises(UnknownRadioChannel, match=f"{key} has no radio channel .*allowed: {allowed}"):
        phys()[key].centre_frequency_mhz(radio_channel)


@pytest.mark.parametrize("key", phys())
def test_every_radio_channel_lies_in_its_band(key):
    phy = phys()[key]
    for radio_channel in phy.radio_channels:
        centre_mhz = phy.centre_frequency_mhz(radio_channel)
        half_mhz = phy.occupied_bandwidth_mhz / 2
        assert phy.band_low_mhz - 1e-6 <= centre_mhz - half_mhz
        assert centre_mhz + half_mhz <= phy.band_high_mhz + 1e-6


def test_unknown_region_and_posture_list_what_is_known():
    with pytest.raises(UnknownKey, match="unknown region 'mars'; known: us, eu, uk"):
        region_rules("mars")
    with pytest.raises(UnknownKey, match="unknown posture 'asleep'; known: facing, side, blocked"):
        body_loss_db(868, "asleep")
    assert issubclass(UnknownKey, ReferenceLookupError)


def test_radio_channel_0_fits_the_band_it_was_made_for():
    phy = phys()["bpsk-868"]
    centre_mhz, half_mhz = phy.centre_frequency_mhz(0), phy.occupied_bandwidth_mhz / 2
    covering = [rule for rule in region_rules("eu") if rule.covers(centre_mhz - half_mhz, centre_mhz + half_mhz)]
    assert [(rule.low_mhz, rule.high_mhz) for rule in covering] == [(868, 868.6)]


def test_a_band_edge_forgives_rounding_but_no_more():
    (rule,) = [rule for rule in region_rules("eu") if rule.low_mhz == 868]
    assert rule.covers(868 - 1e-9, 868.6 + 1e-9)
    assert not rule.covers(867.999, 868.6)
    assert not rule.covers(868, 868.601)


def test_limits_with_an_antenna():
    (erp,) = [rule for rule in region_rules("eu") if rule.low_mhz == 869.4]
    assert erp.limit_conducted_dbm(2.15) == pytest.approx(erp.limit_dbm)
    assert erp.limit_conducted_dbm(-2) == pytest.approx(erp.limit_dbm + 4.15)
    assert erp.limit_eirp_in_bandwidth_dbm(0.2) == erp.limit_eirp_dbm
    japan = region_rules("jp")[0]
    assert [japan.limit_conducted_dbm(gain_dbi) for gain_dbi in (-2, 3, 5)] == [13, 13, 11]


@pytest.mark.parametrize("key", regions())
def test_rules_that_were_read_are_dated(key):
    for rule in region_rules(key):
        assert rule.citation
        assert rule.as_of or rule.standing == "memory"
