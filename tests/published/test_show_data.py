"""What a whole network carries: addressing, the full serial line, latency. Derived from the standard's air times."""

from dataclasses import replace

import pytest
from pydantic import ValidationError

from showplan.planner.air.feed import feed_times
from showplan.planner.air.packets import Packets
from showplan.planner.air.words import LATE_MS
from showplan.planner.analysis import Analysis
from showplan.planner.scene_power import Load
from showplan.planner.scene_traffic import Feed, Traffic
from showplan.reference import phys
from tests.scenes import hall, node

A_MICROSECOND_MS = 0.001


def direct(receivers, outputs, **traffic):
    """The air of a gateway with so many receivers around it, each with so many outputs in use."""
    nodes = (node("G", "gateway", 0, 5.0, 5.0), *(node(f"N{i}", "receiver", i + 1, 6.0, 5.0) for i in range(receivers)))
    base = hall(nodes=nodes, loads=(), walls=(), zones=(), readings=())
    types = tuple(replace(kind, outputs=outputs) for kind in base.node_types)
    way = Traffic(network="Show", relaying="none", **traffic)
    return Analysis(replace(base, node_types=types, traffics=(way,))).air["Show"]


@pytest.mark.parametrize(
    ("nodes", "outputs", "traffic", "packets", "air_ms", "cycle_ms"),
    # short addresses, four octets of header, mean access and gap; links that lose next to nothing
    [
        (40, 12, {"addressing": "all"}, 5, 18.720, 29.120),
        (40, 12, {"addressing": "groups", "groups": 4}, 8, 20.736, 37.376),
        (40, 12, {"addressing": "groups", "groups": 8}, 8, 20.736, 37.376),
        (40, 12, {"addressing": "each"}, 40, 42.240, 125.440),
        (40, 3, {"addressing": "all"}, 2, None, 9.344),
        (40, 3, {"addressing": "groups", "groups": 4}, 4, None, 14.848),
        (40, 3, {"addressing": "groups", "groups": 8}, 8, None, 25.856),
        (40, 3, {"addressing": "each"}, 40, None, 96.000),
        (10, 12, {"addressing": "all"}, 2, None, 9.344),
        (10, 12, {"addressing": "each"}, 10, None, 31.360),
    ],
)
def test_addressing(nodes, outputs, traffic, packets, air_ms, cycle_ms):
    air = direct(nodes, outputs, **traffic)
    assert air.packets == packets
    assert air.cycle_ms == pytest.approx(cycle_ms, abs=A_MICROSECOND_MS)
    assert next(limit.hz for limit in air.limits if limit.name == "gateway") == pytest.approx(1000 / cycle_ms)
    if air_ms is not None:
        assert air.air_time_ms == pytest.approx(air_ms, abs=A_MICROSECOND_MS)


@pytest.mark.parametrize(
    ("nodes", "outputs", "air_ms", "cycle_ms"),
    [(40, 12, 56.320, 147.200), (40, 3, None, 117.760), (10, 12, None, 36.8)],
)
def test_acknowledged(nodes, outputs, air_ms, cycle_ms):
    air = direct(nodes, outputs, addressing="each", acknowledged=True)
    # links at a metre lose some hundred-thousandth of their packets
    assert air.cycle_ms == pytest.approx(cycle_ms, rel=1e-3)
    if air_ms is not None:
        assert air.air_time_ms == pytest.approx(air_ms, rel=1e-3)


@pytest.mark.parametrize(
    ("nodes", "levels", "packets", "air_ms", "cycle_ms", "acknowledged_ms"),
    # 868 MHz O-QPSK: groups of nodes by levels; with an acknowledgement each in the last column
    [
        (1, 480, 5, 46.800, 72.800, None),
        (4, 120, 8, 51.840, 93.440, None),
        (8, 60, 8, 51.840, 93.440, None),
        (40, 12, 40, 105.600, 313.600, 368.0),
        (1, 120, 2, None, 23.36, None),
        (4, 30, 4, None, 37.12, None),
        (8, 15, 8, None, 64.64, None),
        (40, 3, 40, None, 240.0, 294.4),
        (10, 12, 10, None, 78.4, 92.0),
    ],
)
def test_addressing_at_868_mhz(nodes, levels, packets, air_ms, cycle_ms, acknowledged_ms):
    way = Traffic(network="Show", addressing="each" if acknowledged_ms else "groups")
    found = Packets(phys()["oqpsk-868"], way)
    burst = found.full_burst(levels)
    assert nodes * burst.packets == packets
    assert nodes * burst.exchange_ms == pytest.approx(cycle_ms, abs=A_MICROSECOND_MS)
    if air_ms:
        assert nodes * burst.air_ms == pytest.approx(air_ms, abs=A_MICROSECOND_MS)
    if acknowledged_ms:
        assert nodes * (burst.exchange_ms + found.acknowledgement_ms) == pytest.approx(acknowledged_ms)


@pytest.mark.parametrize(("octets", "gap_us"), [(13, 192), (18, 192), (19, 640)])
def test_gaps(octets, gap_us):
    # a public simulator's tests: 192 us after a MAC frame of 13 octets, 640 after one of 19; the limit is 18
    found = Packets(phys()["oqpsk-2450"], Traffic(network="Show"))
    assert found.exchange_ms(octets) - found.access_ms - found.air_ms(octets) == pytest.approx(gap_us / 1000)


def test_constants_of_channel_access():
    # IEEE 802.15.4: defaults read in public source files, ranges on a chip maker's page
    usual = Traffic(network="Show")
    assert (usual.min_be, usual.max_be, usual.max_backoffs, usual.retries) == (3, 5, 4, 3)
    for name, most in (("min_be", 8), ("max_be", 8), ("max_backoffs", 5), ("retries", 7)):
        replace(usual, **{name: most})
        for outside in (most + 1, -1):
            with pytest.raises(ValidationError):
                Traffic(network="Show", **{name: outside})


@pytest.mark.parametrize(
    ("key", "percent"), [("bpsk-868", 264.2), ("bpsk-915", 132.1), ("oqpsk-868", 52.83), ("oqpsk-2450", 21.13)]
)
def test_the_whole_line_on_the_air(key, percent):
    # 57,600 baud forwarded in packets of 116 octets: share of the time on the air, no relay
    found = Packets(phys()[key], Traffic(network="Show"))
    packets_per_s = feed_times(Feed(network="Show")).octets_per_s / (found.levels + 4)
    assert found.air_ms(127) * packets_per_s / 10 == pytest.approx(percent, rel=0.0002)


@pytest.mark.parametrize(
    ("key", "octets_per_s", "times_the_line"),
    # 116 octets a packet, no acknowledgement, against 57,600 baud, 5,760 octets a second
    [
        ("bpsk-868", 1_943.0, 0.34),
        ("bpsk-915", 3_886.1, 0.67),
        ("oqpsk-868", 7_323.2, 1.27),
        ("oqpsk-915", 18_308.1, 3.18),
        ("oqpsk-2450", 18_308.1, 3.18),
    ],
)
def test_the_whole_line(key, octets_per_s, times_the_line):
    found = Packets(phys()[key], Traffic(network="Show")).sustained_octets_per_s()
    assert found == pytest.approx(octets_per_s, abs=0.06)
    assert found / feed_times(Feed(network="Show")).octets_per_s == pytest.approx(times_the_line, abs=0.006)


@pytest.mark.parametrize(
    ("key", "octets"),
    # what comes in at 57,600 baud during the longest single access
    [("oqpsk-2450", 215.7), ("oqpsk-868", 539.1), ("bpsk-915", 337.0), ("bpsk-868", 673.9), ("sun-fsk-863", 773.0)],
)
def test_octets_that_wait(key, octets):
    stalled_ms = Packets(phys()[key], Traffic(network="Show")).longest_access_ms
    assert feed_times(Feed(network="Show", slots=2000)).waiting_octets(stalled_ms) == pytest.approx(octets, abs=0.06)


@pytest.mark.parametrize(
    ("key", "plain_ms", "acknowledged_ms"),
    # one to three hops of 60 octets on an idle radio channel: mean access and air time, and an acknowledgement each
    [
        ("oqpsk-2450", (3.552, 7.104, 10.656), (4.096, 8.192, 12.288)),
        ("oqpsk-868", (8.88, 17.76, 26.64), (10.24, 20.48, 30.72)),
        ("bpsk-868", (30.9, 61.8, 92.7), (35.9, 71.8, 107.7)),
    ],
)
def test_hops(key, plain_ms, acknowledged_ms):
    packets = Packets(phys()[key], Traffic(network="Show"))
    one_ms = packets.access_ms + packets.air_ms(60)
    for hops in (1, 2, 3):
        assert hops * one_ms == pytest.approx(plain_ms[hops - 1])
        assert hops * (one_ms + packets.acknowledgement_ms) == pytest.approx(acknowledged_ms[hops - 1])


def test_latency_budget():
    """100 octets on the line, a packet of 111: 22.5 ms; half a frame at 40 Hz more: 35.0 ms."""
    feed = Feed(network="Show", slots=96, frame_octets=4)
    loads = tuple(
        Load(
            label=f"L{i}",
            kind="lamp",
            node=f"N{i // 48}",
            output=i % 48 + 1,
            slot=i + 1,
            rated_v=12.0,
            rated_w=1.0,
            cable_length_m=1.0,
            cable_area_mm2=0.5,
        )
        for i in range(96)
    )
    nodes = (node("G", "gateway", 0, 5.0, 5.0), *(node(f"N{i}", "receiver", i + 1, 6.0, 5.0) for i in range(2)))
    base = hall(nodes=nodes, loads=loads, walls=(), zones=(), readings=())
    types = tuple(replace(kind, outputs=48) for kind in base.node_types)
    scene = replace(base, node_types=types, feeds=(feed,), traffics=(Traffic(network="Show", refresh_hz=40.0),))
    air = Analysis(scene).air["Show"]
    parts = {part.name: part.mean_ms for part in air.where_the_time_goes}
    assert parts["line into the gateway"] == pytest.approx(17.361, abs=A_MICROSECOND_MS)
    assert parts["channel access"] == pytest.approx(1.44, abs=A_MICROSECOND_MS)
    assert parts["air time"] == pytest.approx(3.744, abs=A_MICROSECOND_MS)
    assert sum(parts.values()) == pytest.approx(35.045, abs=0.002)
    assert air.node("N0").latency.p50_ms == pytest.approx(35.045, abs=0.002)
    # one relay more: another access and another 3.744 ms on the air
    packets = Packets(phys()["oqpsk-2450"], Traffic(network="Show"))
    assert sum(parts.values()) + packets.access_ms + packets.air_ms(111) == pytest.approx(40.229, abs=0.002)
    assert LATE_MS == 45  # ITU-R BT.1359-1, consideration (g): sound ahead of its picture is noticed from there on


@pytest.mark.parametrize(("hz", "period_ms"), [(20, 50.0), (25, 40.0), (30, 33.33), (40, 25.0), (44, 22.73)])
def test_waiting_for_the_next_frame(hz, period_ms):
    parts = {part.name: part for part in direct(1, 1, refresh_hz=float(hz)).where_the_time_goes}
    assert parts["wait for the next frame"].longest_ms == pytest.approx(period_ms, abs=0.006)
