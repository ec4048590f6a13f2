"""Batteries by air, and limits of voltage. Sources beside each check."""

import pytest

from showplan.physics.batteries import pack_wh
from showplan.reference.batteries import battery_chemistries
from showplan.reference.carriage import carriage_rule, carriage_rules
from showplan.reference.limits import voltage_limits
from showplan.reference.loads import load_presets
from showplan.reference.standing import OutsideTable


@pytest.mark.parametrize(
    ("volts", "amp_hours", "printed_wh", "key"),
    [
        # web page on photographers' batteries: printed as 4.9 and 13 Wh
        (7.2, 0.68, 4.896, "up-to-100"),
        (7.2, 1.8, 12.96, "up-to-100"),
        # classes of the airlines' passenger leaflet, 2018
        (11.1, 9.0, 99.90, "up-to-100"),
        (12.8, 7.8, 99.84, "up-to-100"),
        (14.8, 6.8, 100.64, "up-to-160"),
        (12.8, 12.5, 160.00, "up-to-160"),
        (12.8, 12.6, 161.28, "above-160"),
        (25.6, 8.0, 204.8, "above-160"),
        (10, 10, 100, "up-to-100"),
    ],
)
def test_classes(volts, amp_hours, printed_wh, key):
    energy_wh = pack_wh(volts, amp_hours)
    assert energy_wh == pytest.approx(printed_wh)
    assert carriage_rule(energy_wh, is_lithium=True).key == key


def test_numbers_of_the_leaflet():
    rules = carriage_rules()
    assert (rules["up-to-100"].most_devices, rules["up-to-100"].most_spares) == (15, 20)
    assert not rules["up-to-100"].needs_approval
    assert rules["up-to-160"].most_spares == 2
    assert rules["up-to-160"].needs_approval
    assert rules["above-160"].most_spares == 0
    for rule in rules.values():
        assert "check the airline" in rule.note
    # page on batteries in baggage: sealed lead-acid of 12 V and 100 Wh (8.3 Ah), two
    assert carriage_rule(pack_wh(12, 8.3), is_lithium=False).most_spares == 2
    with pytest.raises(OutsideTable, match="battery without lithium of 144 Wh: ask the airline"):
        carriage_rule(144, is_lithium=False)


def test_voltages():
    limits = voltage_limits()
    # IEC vocabulary; BS 7671 414.4.5; NEC chapter 9 Tables 11 Note 4, 2005
    assert (limits["selv"].direct_v, limits["selv"].alternating_v) == (120, 50)
    assert (limits["selv-dry"].direct_v, limits["selv-dry"].alternating_v) == (60, 25)
    assert (limits["selv-wet"].direct_v, limits["selv-wet"].alternating_v) == (30, 12)
    assert (limits["class-2-chopped"].direct_v, limits["class-2-chopped-wet"].direct_v) == (24.8, 12.4)
    # eight cells, full: LiFePO4 stays within 30 V, Li-ion does not
    assert 8 * battery_chemistries()["lifepo4"].full_v < 30 < 8 * battery_chemistries()["li-ion"].full_v


def test_loads():
    # sellers' pages: 4.8, 9.6 and 14.4 W/m are 0.4, 0.8 and 1.2 A/m on 12 V; 24 V, 19.2 W/m is 0.8 A/m
    presets = load_presets()
    amps = {key: row.w_per_m / row.rated_v for key, row in presets.items() if row.w_per_m}
    for key, a_per_m in (("tape-12v-4.8", 0.4), ("tape-12v-9.6", 0.8), ("tape-12v-14.4", 1.2), ("tape-24v-19.2", 0.8)):
        assert amps[key] == pytest.approx(a_per_m)
    # blog on pixel tape: 60 mA each at full white
    for count in (30, 60, 144):
        assert amps[f"pixel-5v-{count}"] == pytest.approx(count * 0.060)
    for row in presets.values():
        assert (row.kind == "tape") == (row.w_per_m is not None) != (row.rated_w is not None)
        assert row.dropout_v is None or row.dropout_v < row.rated_v
