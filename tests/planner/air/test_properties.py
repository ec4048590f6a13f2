"""What must hold of any network: more never goes faster, better never arrives less, names mean nothing."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showplan.planner.air import NetworkAir, air_of
from showplan.planner.air.splitting import split_of
from showplan.planner.air.strategies import strategies, ways
from showplan.planner.analysis import Analysis
from showplan.planner.readiness import plan
from showplan.planner.scene import Network, Scene
from showplan.planner.scene_checks import cross_faults
from showplan.planner.scene_traffic import Feed, Traffic
from tests.scenes import hall, node, scenes, with_all_node_types, with_venue

FEW = settings(max_examples=25, deadline=None)
WAYS = tuple(ways(Traffic(network="Show")))
ROUNDING = 1e-9


def air(scene: Scene, **traffic: Any) -> NetworkAir:
    """The air of network Show, sent in this way."""
    way = Traffic(network="Show", **traffic) if traffic else scene.traffic("Show")
    return Analysis(replace(scene, traffics=(way,))).air["Show"]


@FEW
@given(scenes(), st.sampled_from(WAYS), st.integers(1, 60), st.integers(0, 4))
def test_more_slots_never_raise_the_rate(scene, way, outputs, more):
    rates = [
        Analysis(replace(with_all_node_types(scene, outputs=count), traffics=(way,))).air["Show"].refresh_hz
        for count in (outputs, outputs + more)
    ]
    assert rates[1] <= rates[0] * (1 + ROUNDING)


@FEW
@given(scenes(), st.sampled_from(WAYS), st.data())
def test_a_stronger_link_never_lowers_delivery(scene, way, data):
    """The route stays as it is, and so does who hears whom: a relay that comes into earshot may well disturb."""
    analysis = Analysis(replace(scene, traffics=(way,)))
    links = analysis.links["Show"]
    if len(links.labels) < 2:
        return
    i, j = data.draw(st.sampled_from([(i, j) for i in range(len(links.labels)) for j in range(len(links.labels))]))
    delivery = links.delivery.copy()
    delivery[i, j] += (1 - delivery[i, j]) / 2
    stronger = {"Show": replace(links, delivery=delivery)}
    before = analysis.air["Show"].nodes
    after = air_of(analysis.scene, stronger, analysis.routes)["Show"].nodes
    for one, other in zip(before, after, strict=True):
        # fewer retries leave the channel freer; more acknowledgements fill it a little
        assert other.delivery >= one.delivery - (1e-3 if way.acknowledged else ROUNDING)


@FEW
@given(scenes(), st.sampled_from(WAYS))
def test_names_mean_nothing(scene, way):
    """Other labels in the same order of addresses: the same figures."""
    renamed = tuple(replace(one, label=f"Z{99 - i}") for i, one in enumerate(scene.nodes))
    figures = [
        (found.refresh_hz, found.utilisation, [(n.delivery, n.latency, n.channel_load) for n in found.nodes])
        for found in (
            Analysis(replace(scene, nodes=nodes, traffics=(way,))).air["Show"] for nodes in (scene.nodes, renamed)
        )
    ]
    assert figures[0][:2] == pytest.approx(figures[1][:2])
    for one, other in zip(figures[0][2], figures[1][2], strict=True):
        assert one[0] == pytest.approx(other[0], abs=1e-6)
        assert one[2] == pytest.approx(other[2])


@FEW
@given(scenes(), st.sampled_from(WAYS))
def test_shares_are_shares(scene, way):
    found = Analysis(replace(scene, traffics=(way,))).air["Show"]
    assert found.sent_hz <= found.wanted_hz
    assert found.limit.hz == min(limit.hz for limit in found.limits)
    for one in found.nodes:
        assert 0 <= one.delivery <= 1
        assert 0 <= one.channel_load <= 1
        if one.latency:
            assert one.latency.p50_ms <= one.latency.p95_ms <= one.latency.p99_ms
            assert one.latency.p99_ms <= sum(part.longest_ms for part in one.parts) + ROUNDING


@FEW
@given(scenes())
def test_routes_have_no_loop(scene):
    for route in Analysis(scene).routes["Show"].values():
        assert len(set(route.nodes)) == len(route.nodes)


def test_copies_help_and_cost():
    scene = with_all_node_types(hall(), sensitivity_dbm=-50.0)
    once, twice = air(scene, copies=1, relaying="none"), air(scene, copies=2, relaying="none")
    assert twice.air_time_ms == pytest.approx(2 * once.air_time_ms)
    assert twice.node("A1").delivery > once.node("A1").delivery


def test_networks_on_one_radio_channel_share_it():
    second = Network(name="Other", phy="oqpsk-2450", radio_channel=25, pan_id=2)
    far = replace(second, radio_channel=11)
    more = (node("G2", "gateway", 0, 6.0, 6.0, network="Other"), node("B1", "receiver", 1, 7.0, 6.0, network="Other"))
    alone, beside, apart = (
        Analysis(hall(networks=networks, nodes=(*hall().nodes, *more))).air["Show"]
        for networks in ((*hall().networks, far), (*hall().networks, second), (*hall().networks, far))
    )
    assert beside.channel_utilisation > alone.channel_utilisation == apart.channel_utilisation
    assert beside.refresh_hz < alone.refresh_hz
    assert beside.node("A1").channel_load > alone.node("A1").channel_load


def test_ways_are_compared_and_one_is_best():
    rows = strategies(Analysis(hall()), "Show")
    assert [row.is_best for row in rows] == [True] + [False] * (len(rows) - 1)
    assert rows[0].reason
    assert sum(row.is_present for row in rows) == 1
    assert len({row.in_words for row in rows}) == len(rows)
    assert strategies(Analysis(hall()), "None") == ()


def test_a_show_too_large_for_one_network_is_split():
    nodes = (
        node("G1", "gateway", 0, 2.0, 2.0),
        *(node(f"N{i:02}", "receiver", i + 1, 3.0 + i / 2, 4.0) for i in range(30)),
    )
    base = with_all_node_types(hall(nodes=nodes, loads=(), walls=(), readings=()), outputs=20)
    scene = replace(
        base, traffics=(Traffic(network="Show", refresh_hz=40.0),), feeds=(Feed(network="Show", slots=600),)
    )
    found = split_of(Analysis(scene), "Show")
    assert found is not None
    assert found.is_enough
    # 600 slots at 57,600 baud take 105 ms: five lines of 120 slots each reach 40 frames a second
    assert len(found.shares) == 5
    assert found.refresh_hz >= 40
    assert sorted(label for share in found.shares for label in share.nodes) == [f"N{i:02}" for i in range(30)]
    assert np.ptp([share.slots for share in found.shares]) <= 20


def test_a_split_respects_reach():
    wall = replace(hall().walls[0], start_m=(20.0, 0.0), end_m=(20.0, 20.0), height_m=6.0, material="metal")
    nodes = (
        node("G1", "gateway", 0, 5.0, 10.0),
        node("G2", "gateway", 1, 35.0, 10.0),
        *(node(f"L{i}", "receiver", 10 + i, 4.0 + i, 8.0) for i in range(8)),
        *(node(f"R{i}", "receiver", 20 + i, 30.0 + i, 8.0) for i in range(3)),
    )
    base = hall(nodes=nodes, loads=(), walls=(wall,), readings=())
    scene = with_all_node_types(base, outputs=30, transmit_power_dbm=-25.0)
    scene = replace(scene, traffics=(Traffic(network="Show", refresh_hz=30.0),))
    found = split_of(Analysis(scene), "Show")
    assert found is not None
    assert not found.unreached
    for share in found.shares:
        if len(found.shares) > 1:
            side = "L" if share.gateway == "G1" else "R"
            assert all(label.startswith(side) for label in share.nodes)


@st.composite
def anything(draw: st.DrawFn) -> tuple[Traffic, Feed]:
    """Any way of sending that the Scene allows, and any feed."""
    addressing = draw(st.sampled_from(["all", "groups", "each"]))
    relaying = draw(st.sampled_from(["routed", "repeated", "none"]))
    min_be = draw(st.integers(0, 8))
    traffic = Traffic(
        network="Show",
        refresh_hz=draw(st.floats(1e-3, 1000)),
        header_octets=draw(st.integers(0, 64)),
        coding=draw(st.sampled_from(["full", "changes"])),
        changed_share=draw(st.floats(1e-3, 1)),
        keep_alive_s=draw(st.floats(1e-3, 3600)),
        addressing=addressing,
        groups=draw(st.integers(1, 1000)),
        acknowledged=addressing == "each" and relaying != "repeated" and draw(st.booleans()),
        retries=draw(st.integers(0, 7)),
        copies=draw(st.integers(1, 10)),
        relaying=relaying,
        jitter_ms=draw(st.floats(0, 10_000)),
        addresses=draw(st.sampled_from(["short", "extended"])),
        security=draw(st.sampled_from(["none", "mic-32", "mic-128"])),
        min_be=min_be,
        max_be=draw(st.integers(min_be, 8)),
        max_backoffs=draw(st.integers(0, 5)),
    )
    feed = Feed(
        network="Show",
        kind=draw(st.sampled_from(["serial", "e1.11", "e1.31"])),
        slots=draw(st.integers(1, 512 * 64)),
        rate_hz=draw(st.none() | st.floats(1e-3, 1000)),
        baud=draw(st.integers(300, 10_000_000)),
        clock_error_percent=draw(st.floats(-20, 20)),
        escaping=draw(st.booleans()),
        buffer_octets=draw(st.integers(1, 10_000_000)),
    )
    return traffic, feed


@settings(max_examples=60, deadline=None)
@given(
    scenes(),
    anything(),
    st.integers(0, 64),
    st.sampled_from([("oqpsk-2450", 25), ("bpsk-868", 0), ("sun-fsk-863", 3), ("oqpsk-915", 4)]),
    st.sampled_from(["us", "eu", "jp", "other"]),
)
def test_whatever_is_entered_gets_finite_figures(scene, entered, outputs, radio, region):
    (traffic, feed), (key, channel) = entered, radio
    networks = tuple(replace(one, phy=key, radio_channel=channel) for one in scene.networks)
    scene = with_venue(with_all_node_types(scene, phy=key, outputs=outputs), region=region)
    scene = replace(scene, networks=networks, traffics=(traffic,), feeds=(feed,))
    assert not cross_faults(scene)
    planned = plan(scene)
    found = planned.analysis.air["Show"]
    numbers = [found.refresh_hz, found.cycle_ms, found.utilisation, found.channel_utilisation, found.energy_mj]
    numbers += [q.value for f in planned.findings for q in f.quantities]
    for one in found.nodes:
        numbers += [one.delivery, one.channel_load, one.signal_losses_per_hour, one.buffer_needed_octets]
        numbers += [part.longest_ms for part in one.parts] + [one.longest_stale_s or 0.0]
    assert np.isfinite(numbers).all()
    assert min(numbers[:5]) >= 0
