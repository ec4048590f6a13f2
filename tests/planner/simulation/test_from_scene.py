"""From a Scene to what is simulated: packets, gateways, routes, other radio."""

import dataclasses

import numpy as np
import pytest

from showplan.planner.air.packets import Packets
from showplan.planner.air.slots import SlotUse, slot_use
from showplan.planner.links import network_links
from showplan.planner.routes import best_routes, link_graph
from showplan.planner.scene import Network, OccupiedSpectrum
from showplan.planner.scene_show import Timeline
from showplan.planner.scene_traffic import OwnPhy, Traffic
from showplan.planner.simulation import EVERYBODY, Wishes, from_scene, simulate
from showplan.planner.simulation.packets_of_frame import NothingFits, frames_of_groups
from showplan.planner.watch import CannotCompute
from showplan.reference import phys
from tests.scenes import hall, node, with_all_node_types


def _simulation(scene, wishes=None):
    return from_scene(scene, scene.network("Show"), "empty", wishes)


def _sending(**changes):
    return hall(loads=(), traffics=(Traffic(network="Show", **changes),))


def _packets(longest_frame_octets=127, **traffic):
    phy = dataclasses.replace(phys()["oqpsk-2450"], longest_frame_octets=longest_frame_octets)
    return Packets(phy, Traffic(network="Show", **traffic))


def _slot(label, slot, output=1, on="A1"):
    return dataclasses.replace(hall().loads[0], label=label, node=on, output=output, slot=slot)


def test_the_usual_way():
    """No slot is known: each output of a receiver counts as one, in one packet for all that the relay repeats."""
    scene = hall(loads=())
    found = _simulation(scene)
    [source] = found.given.sources
    [packet] = source.packets
    assert [found.labels[i] for i in packet.wanted_by] == ["A1", "A2", "A3"]
    assert packet.psdu_octets == 2 + 9 + 4 + 3 * 4
    assert (packet.destination, [found.labels[i] for i in packet.repeated_by]) == (EVERYBODY, ["R1"])
    assert (source.rate_hz, source.offset_s) == (25.0, 0.0)
    links = network_links(scene, scene.network("Show"))
    assert np.array_equal(found.given.power_dbm, links.received_dbm, equal_nan=True)
    assert np.asarray(found.given.fades).tolist() == [False, False, False, False, True]
    assert not np.any(_simulation(scene, Wishes(fading=False)).given.fades)


def test_acknowledged_packets_follow_the_routes():
    scene = with_all_node_types(
        _sending(addressing="each", acknowledged=True, relaying="routed", copies=2), sensitivity_dbm=-80.0
    )
    routes = best_routes(link_graph(network_links(scene, scene.network("Show"))))
    found = _simulation(scene)
    place = {label: number for number, label in enumerate(found.labels)}
    assert any(route.hops > 1 for route in routes.values())
    for label, route in routes.items():
        for here, there in zip(route.nodes, route.nodes[1:], strict=False):
            assert found.given.next_hop[place[here], place[label]] == place[there]
    for packet in found.given.sources[0].packets:
        assert packet.acknowledged
        assert [found.labels[i] for i in packet.senders] == ["G1"]
        assert packet.wanted_by == (packet.destination,)
        assert (packet.copies, packet.repeated_by) == (1, ())


def test_groups_on_routes_are_repeated_where_routes_go_on():
    scene = with_all_node_types(_sending(addressing="groups", groups=3, relaying="routed"), sensitivity_dbm=-80.0)
    routes = best_routes(link_graph(network_links(scene, scene.network("Show"))))
    found = _simulation(scene)
    for packet in found.given.sources[0].packets:
        [label] = [found.labels[i] for i in packet.wanted_by]
        inner = routes[label].nodes[1:-1] if label in routes else ()
        assert [found.labels[i] for i in packet.repeated_by] == list(inner)


@pytest.mark.parametrize(("relaying", "by_both"), [("repeated", True), ("none", False), ("routed", False)])
def test_which_gateway_sends(relaying, by_both):
    """Where relays repeat, every gateway sends everything; else each to those it serves."""
    nodes = (*hall().nodes, node("G2", "gateway", 9, 36.0, 6.0))
    traffic = Traffic(network="Show", addressing="groups", groups=3, relaying=relaying)
    found = _simulation(hall(nodes=nodes, loads=(), traffics=(traffic,)), Wishes(fading=False))
    [source] = found.given.sources
    by_node = {
        found.labels[packet.wanted_by[0]]: {found.labels[i] for i in packet.senders} for packet in source.packets
    }
    assert by_node["A1"] == ({"G1", "G2"} if by_both else {"G1"})
    assert by_node["A2"] == ({"G1", "G2"} if by_both else {"G2"})
    result = simulate(found.given)
    assert result.offered[found.labels.index("A1")] == result.offered.max()
    # Fed by one computer they start in step: eight backoffs to draw from, and a wall between them.
    assert result.losses[:, 0].sum() == result.losses.sum() > 0


def test_changes_and_now_and_then_everything():
    """12 slots: two octets tell which of them follow, then a quarter of them; every 50th frame has all."""
    traffic = Traffic(network="Show", coding="changes", changed_share=0.25, keep_alive_s=2.0)
    found = _simulation(hall(loads=(), traffics=(traffic,)))
    everything, changes = found.given.sources
    assert (changes.rate_hz, everything.rate_hz) == (24.5, 0.5)
    assert changes.packets[0].psdu_octets == 15 + 2 + 3
    assert everything.packets[0].psdu_octets == 15 + 12


def test_changes_of_a_timeline():
    """4 slots at 10 Hz: in the busiest second 20 of 40 levels change, 2 in a frame, told by one octet."""
    rows = ";".join(f"{i / 10},{slot},{(i + 1) % 2 * 255}" for i in range(10) for slot in (1, 2)) + ";60,1,0"
    traffic = Traffic(network="Show", coding="changes", timeline="Act", keep_alive_s=2.0, refresh_hz=10.0)
    loads = tuple(_slot(f"L{slot}", slot, slot) for slot in (1, 2, 3, 4))
    found = _simulation(hall(loads=loads, traffics=(traffic,), timelines=(Timeline(name="Act", rows=rows),)))
    everything, changes = found.given.sources
    assert (changes.rate_hz, everything.rate_hz) == (9.5, 0.5)
    assert changes.packets[0].psdu_octets == 15 + 1 + 2
    assert everything.packets[0].psdu_octets == 15 + 4
    assert "busiest second of timeline Act" in found.notes[-1]


def test_a_network_on_the_same_radio_channel_takes_part():
    others = (
        node("B1", "gateway", 0, 6.0, 17.0, network="Other"),
        node("B2", "receiver", 1, 9.0, 9.0, network="Other"),
    )
    other = Network(name="Other", phy="oqpsk-2450", radio_channel=25, pan_id=2)
    scene = hall(nodes=(*hall().nodes, *others), networks=(*hall().networks, other))
    found = _simulation(scene)
    assert set(found.labels) == {"G1", "R1", "A1", "A2", "A3", "B1", "B2"}
    assert [found.labels[i] for i in found.receiving] == ["A1"]
    assert [source.offset_s for source in found.given.sources] == [0.0, None]
    assert np.isfinite(found.given.power_dbm[found.labels.index("B1"), found.labels.index("A1")])
    assert "Other" in found.notes[-1]
    apart = dataclasses.replace(scene, networks=(*hall().networks, dataclasses.replace(other, radio_channel=26)))
    assert len(_simulation(apart).labels) == 5
    assert simulate(found.given).utilisation.value > simulate(_simulation(apart).given).utilisation.value


def test_occupied_spectrum_comes_in_bursts():
    noisy = OccupiedSpectrum(
        label="House network", centre_mhz=2475.0, bandwidth_mhz=20.0, received_dbm=-50.0, busy_share=0.4
    )
    found = _simulation(hall(loads=(), occupied_spectrum=(noisy,)), Wishes(mean_burst_ms=3.0))
    [background] = found.given.backgrounds
    assert (background.busy_share, background.mean_burst_s) == (0.4, 0.003)
    assert background.power_dbm == pytest.approx(-60.0)  # a tenth of its width falls into a channel of 2 MHz
    quiet = _simulation(hall(loads=()))
    assert simulate(found.given, 3).delivery.value[4] < simulate(quiet.given, 3).delivery.value[4]


def test_a_link_at_its_sensitivity_loses_one_packet_in_a_hundred():
    """The noise is set so that a node type is as sensitive as it says (20 octets, IEEE 802.15.4-2006, 6.1.7)."""
    scene = hall(
        nodes=(node("G1", "gateway", 0, 5.0, 18.0), node("A1", "receiver", 1, 15.0, 18.0)),
        traffics=(Traffic(network="Show", refresh_hz=200.0, header_octets=8),),
    )
    received_dbm = network_links(scene, scene.network("Show")).received_dbm[0, 1]
    scene = with_all_node_types(scene, sensitivity_dbm=round(float(received_dbm), 6))
    found = _simulation(scene, Wishes(duration_s=300.0))
    assert found.given.sources[0].packets[0].psdu_octets == 20
    result = simulate(found.given)
    assert 1 - result.delivery.value[1] == pytest.approx(0.01, abs=0.002)


def test_slots_are_counted_once():
    """Loads without a slot take none where others have one; a slot that two nodes use goes once."""
    loads = (_slot("L1", 1), _slot("L2", 1, 2), _slot("L3", 2, 3), _slot("L4", None, 4), _slot("L5", 2, on="A2"))
    scene = hall(loads=loads)
    use = slot_use(scene, scene.nodes)
    assert use.by_node == {"A1": {1, 2}, "A2": {2}}
    [frame] = frames_of_groups(scene.nodes, use, _packets())
    assert [(one.nodes, one.psdu_octets) for one in frame.complete] == [(("A1", "A2"), 15 + 2)]


def test_packing():
    """A node at the border of two packets wants both; nodes without slots want none."""
    nodes = hall().nodes
    use = SlotUse({"A1": frozenset(range(100)), "A3": frozenset(range(100, 130))}, False, ())
    [frame] = frames_of_groups(nodes, use, _packets())
    assert [one.nodes for one in frame.complete] == [("A1", "A3"), ("A3",)]
    assert sum(one.psdu_octets - 15 for one in frame.complete) == 130
    heavy = _packets(108, header_octets=64, addresses="extended", security="mic-128", addressing="each")
    assert heavy.overhead_octets == 21 + 5 + 16 + 2 + 64
    with pytest.raises(NothingFits, match="none is left"):
        frames_of_groups(nodes, use, heavy)


def test_what_cannot_be_simulated():
    wrong = hall(networks=(dataclasses.replace(hall().networks[0], radio_channel=9),))
    with pytest.raises(CannotCompute, match="radio channel"):
        _simulation(wrong)


def test_a_phy_of_the_crews_own_goes_by_its_times_and_its_threshold():
    own = OwnPhy(
        key="chirp",
        band_low_mhz=863.0,
        band_high_mhz=870.0,
        first_centre_mhz=868.0,
        bandwidth_mhz=0.25,
        bit_rate_kbps=50.0,
        longest_frame_octets=255,
        turnaround_us=1000.0,
        sensing_us=160.0,
        sensitivity_dbm=-105.0,
    )
    scene = with_all_node_types(hall(loads=(), own_phys=(own,)), phy="chirp")
    network = dataclasses.replace(scene.networks[0], phy="chirp", radio_channel=0)
    scene = dataclasses.replace(scene, networks=(network,))
    found = _simulation(scene, Wishes(duration_s=5.0, fading=False))
    assert found.given.reception.rule == "threshold"
    assert "modulation of chirp" in found.notes[-1]
    assert found.given.access.unit_backoff_us == 1160.0
    result = simulate(found.given, 1)
    assert result.packets.sum() > 0
    assert result.delivered.sum() > 0
