"""Each finding on the show's data: it speaks where it should and is silent where it need not."""

from dataclasses import replace
from typing import Any

import pytest
from pydantic import ValidationError

from showplan.planner.findings import Finding
from showplan.planner.readiness import plan
from showplan.planner.scene import Network, Scene
from showplan.planner.scene_checks import cross_faults
from showplan.planner.scene_power import Load, ShowPart
from showplan.planner.scene_show import Timeline
from showplan.planner.scene_traffic import Feed, OwnPhy, Traffic
from tests.scenes import hall, node, with_all_node_types, with_venue


def findings(scene: Scene) -> dict[str, Finding]:
    """Findings on the question by code."""
    assert not cross_faults(scene)
    return {f.code: f for f in plan(scene).findings if f.question == "data-fits"}


def sends(**traffic: Any) -> Scene:
    """The hall with an entered way of sending."""
    return hall(traffics=(Traffic(network="Show", **traffic),))


def on_phy(scene: Scene, key: str, radio_channel: int, region: str) -> Scene:
    """The Scene with another PHY everywhere."""
    networks = tuple(replace(one, phy=key, radio_channel=radio_channel) for one in scene.networks)
    return with_venue(with_all_node_types(replace(scene, networks=networks), phy=key), region=region)


def load(label: str, output: int, slot: int | None) -> Load:
    """A lamp on node A1."""
    return Load(
        label=label,
        kind="lamp",
        node="A1",
        output=output,
        slot=slot,
        rated_v=12.0,
        rated_w=1.0,
        cable_length_m=1.0,
        cable_area_mm2=0.5,
    )


def test_without_anything_entered_the_question_is_answered():
    planned = plan(hall())
    answer = next(one for one in planned.answers() if one.question.key == "data-fits")
    assert answer.state == "ready"
    assert any("Sending not entered for Show" in sentence for sentence in planned.assumptions)
    assert any("Feed not entered for Show" in sentence for sentence in planned.assumptions)


def test_what_fits_says_by_how_much():
    found = findings(hall())["data-fits"]
    assert found.severity == "note"
    assert {quantity.name for quantity in found.quantities} >= {"wanted", "fits", "air time"}


def test_a_feed_that_is_too_slow_stops():
    scene = replace(sends(refresh_hz=25.0), feeds=(Feed(network="Show", slots=512),))
    found = findings(scene)["does-not-fit"]
    assert found.severity == "stop"
    # 57,600 baud, 517 octets: 11.141 frames a second
    assert "11.1 fit" in found.sentence
    assert "faster line" in found.remedy


@pytest.mark.parametrize(
    ("key", "channel", "words", "severity"),
    # 5,760 octets a second against what each PHY forwards: derived from the standard's times
    [
        ("bpsk-868", 0, "does not fit through 802.15.4 BPSK, 868 MHz: 1,943 octets", "warn"),
        ("bpsk-915", 5, "does not fit through 802.15.4 BPSK, 915 MHz: 3,886 octets", "warn"),
        ("oqpsk-868", 0, "barely fits through 802.15.4 O-QPSK, 868 MHz: 7,323 octets", "note"),
        ("oqpsk-2450", 25, "fits through 802.15.4 O-QPSK, 2450 MHz: 18,308 octets", "note"),
    ],
)
def test_the_whole_line(key, channel, words, severity):
    region = "eu" if "868" in key else "us"
    scene = on_phy(hall(feeds=(Feed(network="Show"),)), key, channel, region)
    found = findings(scene)["whole-line-forwarded"]
    assert words in found.sentence
    assert found.severity == severity


def test_one_percent_cannot_carry_a_live_stream():
    found = findings(on_phy(hall(), "oqpsk-868", 0, "eu"))["duty-exceeded"]
    assert found.severity == "stop"
    assert "the region allows 1 %" in found.sentence
    assert "regulator" in found.remedy


def test_headers_that_leave_no_room():
    own = OwnPhy(
        key="tiny",
        band_low_mhz=2400.0,
        band_high_mhz=2483.5,
        first_centre_mhz=2440.0,
        bandwidth_mhz=1.0,
        bit_rate_kbps=250.0,
        longest_frame_octets=20,
        sensitivity_dbm=-90.0,
    )
    scene = on_phy(replace(sends(security="mic-64", addresses="extended"), own_phys=(own,)), "tiny", 0, "us")
    assert findings(scene)["payload-over-limit"].severity == "stop"


def test_a_network_with_an_own_phy_plans():
    own = OwnPhy(
        key="house radio",
        band_low_mhz=2400.0,
        band_high_mhz=2483.5,
        first_channel=1,
        last_channel=3,
        first_centre_mhz=2440.0,
        spacing_mhz=2.0,
        bandwidth_mhz=1.0,
        bit_rate_kbps=100.0,
        sensitivity_dbm=-95.0,
    )
    scene = on_phy(hall(own_phys=(own,)), "house radio", 2, "us")
    assert "data-fits" in findings(scene)
    assert plan(scene).analysis.links["Show"].frequency_mhz == 2442.0


def test_own_phys_that_cannot_be():
    own = OwnPhy(
        key="oqpsk-868",
        band_low_mhz=868.0,
        band_high_mhz=868.6,
        first_channel=2,
        last_channel=1,
        first_centre_mhz=868.3,
        bandwidth_mhz=0.4,
        bit_rate_kbps=50.0,
        sensitivity_dbm=-95.0,
    )
    messages = {fault.pointer for fault in cross_faults(hall(own_phys=(own,)))}
    assert messages == {"/own_phys/0/key", "/own_phys/0/last_channel"}
    wide = replace(own, key="wide", last_channel=2, bandwidth_mhz=2.0)
    assert [fault.pointer for fault in cross_faults(hall(own_phys=(wide,)))] == ["/own_phys/0/first_centre_mhz"]
    strange = replace(hall(), networks=(Network(name="Show", phy="none", radio_channel=0, pan_id=1),))
    assert [fault.pointer for fault in cross_faults(strange)] == ["/networks/0/phy"]


def test_a_zero_rate_is_refused():
    with pytest.raises(ValidationError):
        Traffic(network="Show", refresh_hz=0.0)
    with pytest.raises(ValidationError):
        Feed(network="Show", rate_hz=0.0)


@pytest.mark.parametrize(
    ("traffic", "pointer"),
    [
        ({"acknowledged": True}, "/traffics/0/acknowledged"),
        ({"acknowledged": True, "addressing": "groups", "relaying": "routed"}, "/traffics/0/acknowledged"),
        ({"acknowledged": True, "addressing": "each"}, "/traffics/0/acknowledged"),
        ({"min_be": 6}, "/traffics/0/min_be"),
    ],
)
def test_ways_of_sending_that_contradict_themselves(traffic, pointer):
    assert [fault.pointer for fault in cross_faults(sends(**traffic))] == [pointer]


def test_slots():
    loads = (load("L1", 1, 1), load("L2", 2, 30), load("L3", 3, None))
    found = findings(hall(loads=loads, feeds=(Feed(network="Show", slots=24),)))
    assert found["slots-beyond-feed"].severity == "stop"
    assert "30" in found["slots-beyond-feed"].sentence
    assert "23 of the feed's 24 slots" in found["slots-unused"].sentence
    assert "L3 on A1" in found["outputs-without-slots"].sentence
    assert not {"slots-beyond-feed", "slots-unused", "outputs-without-slots"} & set(findings(hall()))


def test_two_outputs_on_one_slot_cost_one_octet():
    scene = hall(loads=(load("L1", 1, 7), load("L2", 2, 7)))
    assert plan(scene).analysis.air["Show"].slots == 1


def with_timeline(rows: str, **traffic: Any) -> Scene:
    """Three lamps on slots 1 to 3 of A1; their network sends what changes in a timeline."""
    loads = tuple(load(f"L{slot}", slot, slot) for slot in (1, 2, 3))
    way = {"coding": "changes", "timeline": "Act", "refresh_hz": 10.0, **traffic}
    return replace(sends(**way), loads=loads, timelines=(Timeline(name="Act", rows=rows),))


# Every tenth of a second all three blink from 1:05 to 1:06; before and after nothing happens.
BUSY = ";".join(
    [
        "0,1,9",
        "0,2,9",
        "0,3,9",
        *(f"{65 + i / 10:g},{s},{i % 2 * 80}" for i in range(10) for s in (1, 2, 3)),
        "200,1,80",
    ]
)


def test_the_busiest_second_of_a_timeline_judges():
    """All three levels change in every frame of it, so each frame carries them all; hardly any as a mean."""
    scene = with_timeline(BUSY, keep_alive_s=100.0)
    air = plan(scene).analysis.air["Show"]
    full = replace(scene.traffics[0], coding="full", timeline=None)
    every = plan(replace(scene, traffics=(full,))).analysis.air["Show"]
    none = plan(with_timeline("0,1,9;0,2,9;0,3,9;100,1,9", keep_alive_s=100.0)).analysis.air["Show"]
    assert air.timeline.changes.peak == pytest.approx(1)
    assert air.timeline.changes.mean == pytest.approx((3 + 30) / 3 / 10 / 200)
    # In the busiest second everything is sent; as a mean little more than the octet that says: nothing changed.
    assert air.air_time_ms == pytest.approx(every.air_time_ms)
    assert none.timeline.mean_air_time_ms <= air.timeline.mean_air_time_ms < air.air_time_ms
    found = findings(scene)["busiest-second"]
    assert found.severity == "note"
    assert "from 1:05 on, 100.0% of the levels" in found.sentence
    quantities = {quantity.name: quantity.value for quantity in found.quantities}
    assert quantities["busiest second"] == pytest.approx(100)
    assert quantities["packets as a mean"] == pytest.approx(air.timeline.mean_packets)


def test_a_timeline_of_other_slots():
    assert findings(with_timeline("0,500,9;5,500,0"))["timeline-elsewhere"].severity == "warn"
    assert "timeline-elsewhere" not in findings(with_timeline(BUSY))
    assert not {"busiest-second", "timeline-elsewhere"} & set(findings(hall()))


def test_timelines_that_lead_nowhere():
    scene = with_timeline(BUSY)
    assert not cross_faults(scene)
    part = ShowPart(name="Act one", position=1, kind="act", minutes=10, timeline="Act two")
    lost = replace(scene, show_parts=(part,), traffics=(replace(scene.traffics[0], timeline="Act two"),))
    assert [fault.pointer for fault in cross_faults(lost)] == ["/traffics/0/timeline", "/show_parts/0/timeline"]
    bad = replace(scene, timelines=(Timeline(name="Act", rows="0,1,256"), Timeline(name="Act", rows="")))
    assert {fault.pointer for fault in cross_faults(bad)} == {"/timelines/0/rows", "/timelines/1"}
    full = with_timeline(BUSY, coding="full")
    assert [fault.pointer for fault in cross_faults(full)] == ["/traffics/0/timeline"]


def behind_metal(**traffic: Any) -> Scene:
    """Two relays that do not hear each other."""
    wall = replace(hall().walls[0], start_m=(20.0, 0.0), end_m=(20.0, 20.0), height_m=6.0, material="metal")
    nodes = (
        node("G1", "gateway", 0, 19.0, 10.0),
        node("R1", "relay", 1, 1.0, 1.0),
        node("R2", "relay", 2, 39.0, 19.0),
        node("A1", "receiver", 3, 10.0, 10.0),
    )
    base = hall(walls=(wall,), nodes=nodes, traffics=(Traffic(network="Show", **traffic),))
    return with_all_node_types(base, transmit_power_dbm=-20.0)


def test_hidden_relays_want_jitter():
    found = findings(behind_metal(jitter_ms=0.0))["hidden-relays"]
    assert found.severity == "warn"
    assert "R1 and R2" in found.sentence
    assert "hidden-relays" not in findings(behind_metal(jitter_ms=20.0))
    assert "hidden-relays" not in findings(behind_metal(jitter_ms=0.0, relaying="routed"))


def test_a_full_radio_channel_is_not_estimated():
    # 90 slots, each packet 3.6 ms on the air and sent by the gateway and a relay
    feeds = (Feed(network="Show", kind="e1.11", slots=90),)
    scene = with_all_node_types(replace(sends(refresh_hz=400.0), loads=(), feeds=feeds), outputs=30)
    assert findings(scene)["contention-unknown"].severity == "warn"
    assert not {"contention-unknown", "contention-rough"} & set(findings(hall()))
    rough = findings(replace(scene, traffics=(replace(scene.traffics[0], refresh_hz=40.0),)))
    assert rough["contention-rough"].severity == "note"
    assert "4.4%" in rough["contention-rough"].sentence


def test_late_levels():
    feed = Feed(network="Show", slots=100, hold_back_ms=16.0)
    found = findings(replace(sends(refresh_hz=20.0), feeds=(feed,)))["late"]
    assert "BT.1359-1" in found.source
    assert "late" not in findings(sends(refresh_hz=40.0))


def lossy(**changes: Any) -> Scene:
    """The hall with a radio that barely reaches the nodes with slots."""
    nodes = tuple(replace(one, **changes) for one in hall().nodes)
    return with_venue(with_all_node_types(hall(nodes=nodes), sensitivity_dbm=-48.0), fade_margin_db=0.0)


def test_signal_loss():
    acting = findings(lossy(on_signal_loss="switch-off", signal_lost_after_s=0.1))
    holding = findings(lossy(on_signal_loss="hold", signal_lost_after_s=0.1))
    assert acting["signal-lost"].severity == "warn"
    assert holding["levels-stale"].severity == "note"
    assert "frames-lost" in acting
    patient = findings(lossy(on_signal_loss="switch-off", signal_lost_after_s=60.0))
    assert not {"signal-lost", "levels-stale"} & set(patient)


def test_buffers():
    # 868 MHz O-QPSK: 539 octets come in during the longest access
    scene = on_phy(hall(feeds=(Feed(network="Show", buffer_octets=256),)), "oqpsk-868", 0, "eu")
    assert "G1 needs 539 octets" in findings(scene)["buffer-overflow"].sentence
    larger = replace(scene, feeds=(Feed(network="Show", buffer_octets=600),))
    assert "buffer-overflow" not in findings(larger)


@pytest.mark.parametrize(("error", "severity"), [(0.16, None), (2.124, "warn"), (-3.549, "warn"), (5.0, "stop")])
def test_baud_error(error, severity):
    found = findings(hall(feeds=(Feed(network="Show", slots=8, clock_error_percent=error),)))
    assert (found["baud-error"].severity if "baud-error" in found else None) == severity


def test_without_a_gateway_nothing_is_sent():
    scene = hall(nodes=tuple(one for one in hall().nodes if one.role != "gateway"), readings=())
    assert set(findings(scene)) == {"no-gateway-for-data"}
    assert plan(scene).analysis.air["Show"].node("A1").delivery == 0


def test_nothing_to_send():
    nodes = (node("G1", "gateway", 0, 5.0, 5.0), node("R1", "relay", 1, 8.0, 5.0))
    assert set(findings(hall(nodes=nodes, loads=(), readings=()))) == {"no-slots"}
