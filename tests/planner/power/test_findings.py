"""Each finding on power: it speaks where it should and is silent where it need not."""

from dataclasses import replace

import pytest
from pydantic import ValidationError

from showplan.physics.catalogue import catalogue
from showplan.planner.power import power_of
from showplan.planner.power.kept import kept
from showplan.planner.readiness import plan
from showplan.planner.scene import Scene
from showplan.planner.scene_power import PartLevel, ShowPart
from tests.planner.power.kits import SHOW_DAY, a_load, a_supply, a_tape, bare_pack, findings, kit
from tests.scenes import hall, node

LONG_DAY = (ShowPart(name="act 1", position=0, kind="act", minutes=600.0, level=1.0),)


def day_of(*minutes_and_levels: tuple[float, float]) -> tuple[ShowPart, ...]:
    """Acts one after the other."""
    return tuple(
        ShowPart(name=f"act {i}", position=i, kind="act", minutes=minutes, level=level)
        for i, (minutes, level) in enumerate(minutes_and_levels)
    )


def speaking() -> dict[str, tuple[Scene, str, str]]:
    """Scene, severity and words of the sentence or the remedy, by code."""
    mains = a_supply(kind="mains", cells=None, converter_v=None, nominal_v=12.0, isolation="selv", current_limit_a=8.0)
    worn = {"is_worn": True}
    return {
        # conductors and fuses
        "lead-over-ampacity": (kit(a_load(rated_w=60.0, fuse_a=7.5)), "stop", "0.75 mm² carries 6 A"),
        "unprotected-conductor": (kit(a_load(fuse_a=None)), "stop", "Put in 1 A (blade, ISO 8820-3)"),
        "fuse-cannot-protect": (kit(a_load(fuse_a=5.0)), "stop", "protects what carries 5 A"),
        "fuse-too-small": (kit(a_load(rated_w=10.0)), "warn", "Use 2 A"),
        "fuse-voltage": (kit(a_load(fuse_v=5.0)), "stop", "is for 5 V; the supply reaches 12 V"),
        "fuse-cannot-break": (kit(a_load(fuse_class="iec-quick"), supply=bare_pack()), "stop", "breaks 35 A"),
        "lead-not-in-table": (kit(a_load(cable_area_mm2=0.25)), "note", "current as 1.5 A"),
        "preset-unknown": (kit(a_load(preset="moonlight")), "warn", "Name one of tape-12v-4.8"),
        "drop-high": (kit(a_load(cable_length_m=12.0)), "warn", "A lead of 0.75 mm² brings it to"),
        "drop-over-limit": (kit(a_load(cable_length_m=40.0)), "stop", "the limit is 10 %"),
        # light
        "light-falls-off": (
            kit(a_tape(length_m=5.0, rated_w=48.0, cable_area_mm2=1.0, fuse_a=7.5)),
            "warn",
            "Feed both ends",
        ),
        "tape-too-long": (kit(a_tape(length_m=40.0, rated_w=576.0)), "warn", "longer than makes sense"),
        "load-dark": (kit(a_tape(rated_v=24.0, dropout_v=18.0)), "stop", "stays dark"),
        "dims-before-empty": (kit(a_tape(), supply=bare_pack()), "warn", "at B1's cut-off, 10 V"),
        "dark-before-empty": (
            kit(a_tape(), supply=bare_pack(chemistry="li-ion", cells=3, nominal_v=10.8)),
            "warn",
            "dark while the pack is not empty",
        ),
        "overdriven-when-full": (kit(a_tape(), supply=bare_pack()), "warn", "times its rated"),
        "voltage-collapse": (
            kit(a_load(kind="fan", rated_w=60.0, cable_length_m=10.0)),
            "stop",
            "wants 60 W whatever its voltage",
        ),
        # switches and dimming
        "switch-runs-away": (kit(sort={"switch_on_mohm": 5000.0, "switch_k_per_w": 200.0}), "stop", "no steady"),
        "switch-too-hot": (
            kit(
                a_load(rated_w=60.0, cable_area_mm2=1.0, fuse_a=7.5),
                sort={"switch_on_mohm": 40.0, "switch_k_per_w": 62.0},
            ),
            "stop",
            "Use a switch of at most",
        ),
        "switch-not-fully-on": (kit(sort={"drive_v": 3.3}), "stop", "driven with 3.3 V"),
        "output-over-limit": (kit(sort={"output_limit_a": 0.3}), "stop", "Share it between 2 outputs"),
        "dimming-flickers": (kit(sort={"dimming_hz": 100.0}), "warn", "up to 8 % modulation"),
        "chopped-voltage": (kit(sort={"dimming_hz": 150.0}, node=worn, supply=bare_pack()), "warn", "wet, 12.4 V peak"),
        "inrush-wears-fuse": (kit(a_load(inrush_uf=2000.0)), "warn", "bears"),
        "capacitors-dimmed": (kit(a_load(inrush_uf=10.0), sort={"dimming_hz": 2000.0}), "warn", "2000 times a second"),
        "hot-on-skin": (kit(a_tape(rated_w=14.4, is_against_skin=True)), "warn", "a mean level of"),
        "hot-in-costume": (kit(a_tape(rated_w=14.4), node=worn), "note", "is worn"),
        # supplies
        "supply-headroom-small": (kit(supply=a_supply(current_limit_a=0.45)), "warn", "Use one of 0.521 A"),
        "supply-overloaded": (kit(supply=a_supply(current_limit_a=0.4)), "stop", "104 %"),
        "supply-limit-unknown": (kit(supply=replace(mains, current_limit_a=None)), "warn", "with headroom it needs"),
        "over-extra-low-voltage": (
            kit(supply=bare_pack(nominal_v=57.6, cells=18)),
            "stop",
            "reaches 65.7 V; dry",
        ),
        "not-isolated": (kit(supply=replace(mains, isolation="none")), "stop", "not parted from the mains"),
        "isolation-unknown": (kit(supply=replace(mains, isolation="unknown")), "warn", "not known to be parted"),
        "battery-not-limited": (kit(supply=a_supply(is_limited_power=True)), "warn", "merely because"),
        "over-limited-power": (
            # 5 m of 14.4 W/m do not fit a class 2 supply of 60 W
            kit(
                a_tape(length_m=5.0, rated_w=72.0, cable_area_mm2=1.5, fuse_a=10.0),
                supply=replace(mains, is_limited_power=True),
            ),
            "stop",
            "at most 5 A",
        ),
        "no-supply": (kit(nodes=tuple(replace(one, supply=None) for one in hall().nodes)), "warn", "no supply"),
        # the day
        "no-show-day": (kit(show_parts=()), "warn", "Enter rehearsal"),
        "capacity-unknown": (kit(supply=a_supply(capacity_ah=None)), "warn", "how long it lasts is unknown"),
        "part-outlasts-pack": (
            kit(a_load(rated_w=12.0, fuse_a=2.0), show_parts=LONG_DAY),
            "stop",
            "no pack lasts through act 1",
        ),
        "packs-short": (
            kit(a_load(rated_w=12.0, fuse_a=2.0), show_parts=day_of(*[(180.0, 1.0)] * 4)),
            "stop",
            "the day takes 4 packs",
        ),
        "margin-small": (
            kit(a_load(rated_w=12.0, fuse_a=2.0), supply=a_supply(packs=1), show_parts=day_of((260.0, 1.0))),
            "warn",
            "The emptiest ends with",
        ),
        "no-charger": (kit(supply=a_supply(chargers=0)), "warn", "last one day"),
        "charging-too-slow": (
            kit(
                a_load(rated_w=12.0, fuse_a=2.0),
                supply=a_supply(charger_current_a=0.2),
                show_parts=day_of((200.0, 1.0)),
            ),
            "warn",
            "until the next day",
        ),
        "charging-in-the-cold": (kit(venue={"coldest_c": -5.0}), "warn", "must not be charged"),
        "standing-current-high": (kit(sort={"standing_current_ma": 300.0}), "note", "radio and controllers take"),
        "power-lasts": (kit(), "note", "B1 lasts: "),
        # by air
        "pack-flies": (kit(venue={"reached_by_air": True}), "note", "96.0 Wh"),
        "pack-needs-approval": (
            kit(supply=a_supply(capacity_ah=12.0), venue={"reached_by_air": True}),
            "warn",
            "operator must approve",
        ),
        "pack-is-cargo": (kit(supply=a_supply(capacity_ah=12.6), venue={"reached_by_air": True}), "stop", "161.3 Wh"),
        "too-many-spares": (kit(supply=a_supply(packs=22), venue={"reached_by_air": True}), "warn", "21 spare packs"),
        "too-many-large-spares": (
            kit(supply=a_supply(capacity_ah=12.0, packs=4), venue={"reached_by_air": True}),
            "warn",
            "one person may carry 2",
        ),
        "pack-not-in-rules": (
            kit(
                supply=a_supply(chemistry="lead-acid", cells=6, nominal_v=12.0, capacity_ah=12.0),
                venue={"reached_by_air": True},
            ),
            "warn",
            "ask the airline",
        ),
        "nothing-to-feed": (hall(loads=(), nodes=tuple(replace(one, supply=None) for one in hall().nodes)), "note", ""),
    }


SPEAKING = speaking()


@pytest.mark.parametrize("code", SPEAKING)
def test_it_speaks(code):
    scene, severity, words = SPEAKING[code]
    found = findings(scene)
    assert code in found, sorted(found)
    assert found[code].severity == severity
    assert words in f"{found[code].sentence} {found[code].remedy}"
    assert found[code].sentence.endswith(".")
    assert found[code].severity == "note" or found[code].remedy
    assert set(found[code].formulas) <= set(catalogue())


@pytest.mark.parametrize(
    "scene",
    [
        kit(),
        kit(a_tape()),
        kit(a_load(kind="fan")),
        kit(a_tape(length_m=3.0, feeding="both-ends", fuse_a=2.0)),
        kit(a_load(inrush_uf=10.0, fuse_class="iec-time-lag")),
        kit(sort={"dimming_hz": 2000.0, "switch_edge_us": 1.0, "output_limit_a": 2.0}),
        kit(a_tape(is_against_skin=True, rated_w=2.0)),
    ],
)
def test_a_good_kit_is_only_told_that_it_lasts(scene):
    assert set(findings(scene)) == {"power-lasts"}


def test_the_plan_answers_the_question():
    planned = plan(kit())
    assert next(one for one in planned.answers() if one.question.key == "power-lasts").state == "ready"
    assert planned.analysis.power is kept(kit())[0].power
    empty = plan(SPEAKING["nothing-to-feed"][0])
    assert next(one for one in empty.answers() if one.question.key == "power-lasts").state == "open"


def test_a_kit_that_is_not_placed_is_judged():
    scene = kit(nodes=(node("A1", "receiver", 2, 0.0, 0.0, supply="B1", placement=None),), readings=())
    assert power_of(scene).node("A1").outputs
    assert "power-lasts" in findings(scene)


def test_moving_a_node_or_another_state_of_the_house_keeps_the_numbers():
    scene = kit()
    moved = replace(scene, nodes=(*scene.nodes[:-1], replace(scene.nodes[-1], on_signal_loss="fade-out")))
    assert kept(moved) is kept(scene)
    brighter = replace(scene, loads=(a_load(rated_w=6.0),))
    assert kept(brighter) is not kept(scene)


def test_what_was_not_entered_is_said():
    sentences = plan(hall()).assumptions
    for words in ("resistance of its switches", "resistance of the tape", "cut-off voltage", "internal resistance"):
        assert any(words in sentence and "assumed" in sentence for sentence in sentences), words
    # measured and entered: nothing left to assume of the load
    assert not any("Not entered for L1" in sentence for sentence in plan(kit(a_tape())).assumptions)
    # a preset goes before the assumption, and says so
    from_preset = power_of(kit(a_tape(tape_ohm_per_m=None, preset="tape-12v-4.8"))).node("A1").assumed
    assert [one.source for one in from_preset if one.field == "tape_ohm_per_m"] == [
        "preset tape 12 V, 4.8 W/m, from memory"
    ]


@pytest.mark.parametrize(
    "changes",
    [
        {"cable_length_m": 0.0},
        {"cable_area_mm2": 0.0},
        {"rated_w": None, "rated_a": -1.0},
        {"rated_w": float("nan")},
        {"tape_ohm_per_m": 0.0},
        {"fuse_a": 0.0},
    ],
)
def test_what_cannot_be_is_refused(changes):
    with pytest.raises(ValidationError):
        a_load(**changes)


@pytest.mark.parametrize(
    "load",
    [
        a_load(rated_w=9000.0, cable_length_m=9000.0),
        a_load(cable_area_mm2=0.01),
        a_load(cable_area_mm2=500.0),
        a_load(kind="fan", rated_w=0.001),
        a_tape(length_m=9000.0, rated_w=9000.0),
        a_tape(length_m=0.001, rated_w=0.001),
        a_tape(behaviour="constant-power", rated_w=500.0, length_m=30.0),
        a_tape(behaviour="constant-power", feeding="points", feed_points_m=(0.2, 0.201, 0.9)),
        a_tape(dropout_v=11.99),
        a_load(rated_v=0.5),
    ],
)
def test_odd_values_give_findings_not_crashes(load):
    found = findings(kit(load))
    assert found
    assert all("nan" not in one.sentence for one in found.values())


def test_a_supply_shared_by_two_nodes_carries_both():
    nodes = tuple(replace(one, supply="B1") if one.label == "A2" else one for one in kit().nodes)
    shared = power_of(kit(a_load(), a_load("L2", node="A2"), supply=bare_pack(), nodes=nodes))
    alone = power_of(kit(supply=bare_pack()))
    assert shared.supply("B1").nodes == ("A1", "A2")
    assert shared.supply("B1").current.rated == pytest.approx(2 * alone.supply("B1").current.rated)
    # the pack's resistance couples them: each leaves the other a little less
    assert shared.node("A1").bus_v.nominal < alone.node("A1").bus_v.nominal


def test_levels_come_from_the_part_else_from_what_was_entered_for_the_load():
    entered = (PartLevel(part="act 1", load="L1", level=1.0),)
    usual, full = power_of(kit()), power_of(kit(part_levels=entered))
    by_part = {part.part: part.mean_a for part in full.supply("B1").parts}
    assert by_part["act 1"] == pytest.approx(2.5 * by_part["act 2"])
    assert full.supply("B1").day.day_share > usual.supply("B1").day.day_share
    assert full.node("A1").output("L1").most_level == 1.0
    assert sum(wh for _, wh in full.node("A1").energy_wh) == pytest.approx(
        0.85 * sum(part.drawn_wh for part in full.supply("B1").parts)
    )


def test_nothing_is_on_in_a_gap():
    gap = ShowPart(name="supper", position=9, kind="gap", minutes=90.0, level=1.0)
    parts = power_of(kit(show_parts=(*SHOW_DAY, gap))).supply("B1").parts
    assert parts[-1].drawn_wh == 0.0
