"""The simulation of one network of a Scene, with the networks that share its radio channel."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from showplan import reference
from showplan.planner.air.packets import packets_of
from showplan.planner.air.slots import slot_use
from showplan.planner.ends import end_of
from showplan.planner.links import NetworkLinks, centre_frequency_mhz, members, network_links
from showplan.planner.obstacles import HouseState
from showplan.planner.phys import is_own, phy_of
from showplan.planner.reception import busy_share_of, interference_of
from showplan.planner.routes import Route, best_routes, link_graph
from showplan.planner.scene import Network, Scene
from showplan.planner.scene_traffic import Traffic
from showplan.planner.simulation import radio
from showplan.planner.simulation.inputs import EVERYBODY, Background, Packet, SimulationInput, Source
from showplan.planner.simulation.packets_of_frame import FramePacket, NothingFits, frames_of_groups
from showplan.planner.watch import CannotCompute

WARM_UP_S: Final = 1.0
# A gateway keeps this many frames that wait to be sent. Common practice (two buffers in turn), no source.
FRAMES_KEPT: Final = 2
NOTES: Final = (
    "Received power is the forecast mean: shadowing is not drawn. Fading, where it is asked for, is Rayleigh, drawn for"
    " every frame to or from a node that moves.",
    "Receivers do not disturb each other by their acknowledgements.",
    "The channel counts as busy from 10 dB above the PHY's required sensitivity on (from memory), unless given.",
    "Bursts of other radio have a random length of a given mean; nobody measured it (assumption).",
)


@dataclass(frozen=True, kw_only=True)
class Wishes:
    """What to simulate: seconds of show; None for `sensing_dbm` is the PHY's usual."""

    duration_s: float = 60.0
    seed: int = 1
    fading: bool = True
    sensing_dbm: float | None = None
    mean_burst_ms: float = 1.0


@dataclass(frozen=True)
class NetworkSimulation:
    """`given` for `simulate`; its nodes are `labels`, of which `receiving` are those of the network that want data.

    `notes` say what was assumed.
    """

    given: SimulationInput
    labels: tuple[str, ...]
    receiving: tuple[int, ...]
    notes: tuple[str, ...]


def from_scene(
    scene: Scene, network: Network, state: HouseState = "empty", wishes: Wishes | None = None
) -> NetworkSimulation:
    """The network as it is planned. Raises CannotCompute where there is nothing to simulate, saying why."""
    wishes = wishes or Wishes()
    if centre_frequency_mhz(scene, network) is None:
        raise CannotCompute(f"network {network.name} has a radio channel that its PHY does not have: choose another")
    sharing = [network, *_sharing(scene, network)]
    links = network_links(_as_one(scene, sharing), network, state)
    assert links is not None
    builder = _Builder(scene, links, state)
    try:
        for one in sharing:
            builder.add(one, offset_s=0.0 if one is network else None)
    except NothingFits as error:
        raise CannotCompute(str(error)) from error
    if not builder.receiving[network.name]:
        raise CannotCompute(f"no placed node of network {network.name} uses a slot: place nodes, enter their loads")
    if not builder.gateways[network.name]:
        raise CannotCompute(f"network {network.name} has no gateway here: place one")
    given = builder.input(network, wishes)
    notes = (*NOTES, *_special_notes(scene, sharing))
    return NetworkSimulation(given, links.labels, tuple(builder.receiving[network.name]), notes)


def _special_notes(scene: Scene, sharing: list[Network]) -> Iterator[str]:
    """What was assumed in this case alone."""
    network, *others = sharing
    if is_own(phy_of(scene, network.phy)):
        yield (
            f"Nothing is known of the modulation of {network.phy}: a packet is received where its power stays above the"
            " node type's sensitivity, against noise and all others together, and lost where not."
        )
    for one in sharing:
        if timeline := packets_of(scene, one).timeline:
            yield f"{one.name} sends all the time what changes in the busiest second of timeline {timeline.name}."
    if others:
        names = ", ".join(one.name for one in others)
        yield f"On the same radio channel: {names}, not in step with {network.name}."


def _sharing(scene: Scene, network: Network) -> list[Network]:
    """Other networks here on the same radio channel of the same PHY."""
    return [
        other
        for other in scene.networks
        if other.name != network.name
        and (other.phy, other.radio_channel) == (network.phy, network.radio_channel)
        and any(node.role == "gateway" for node in members(scene, other))
    ]


def _as_one(scene: Scene, sharing: list[Network]) -> Scene:
    """All their nodes in the first of them: what they hear of each other is what nodes of one network hear."""
    names = {one.name for one in sharing}
    nodes = tuple(replace(node, network=sharing[0].name) for node in scene.nodes if node.network in names)
    return replace(scene, nodes=nodes)


class _Builder:
    """Collects sources and routes, network by network; nodes are numbered as in `links`."""

    def __init__(self, scene: Scene, links: NetworkLinks, state: HouseState) -> None:
        self._scene, self._links, self._state = scene, links, state
        self._index = {label: number for number, label in enumerate(links.labels)}
        n = len(links.labels)
        self._next_hop = np.broadcast_to(np.arange(n, dtype=np.int32), (n, n)).copy()
        self._queue = np.ones(n, dtype=np.int64)
        self._kept = np.zeros(n, dtype=np.int64)
        self._sources: list[Source] = []
        self.receiving: dict[str, list[int]] = {}
        self.gateways: dict[str, list[str]] = {}

    def add(self, network: Network, offset_s: float | None) -> None:
        """The network's frames; `offset_s` None: not in step with the others."""
        scene, traffic = self._scene, self._scene.traffic(network.name)
        nodes = members(scene, network)
        use = slot_use(scene, nodes)
        self.receiving[network.name] = [
            self._index[node.label] for node in nodes if node.role != "gateway" and node.label in use.by_node
        ]
        self.gateways[network.name] = [node.label for node in nodes if node.role == "gateway"]
        own_links = network_links(scene, network, self._state)
        if own_links is None or not self.gateways[network.name]:
            return
        ways = _Ways(own_links, traffic)
        packing = packets_of(scene, network)
        longest = int(packing.phy.longest_frame_octets)
        for node in nodes:
            self._queue[self._index[node.label]] = max(1, traffic.node_buffer_octets // longest)
        for label, nodes_passed in ways.routes.items():
            for here, there in pairwise(nodes_passed.nodes if traffic.relaying == "routed" else ()):
                self._next_hop[self._index[here], self._index[label]] = self._index[there]
        by_rate: dict[float, list[Packet]] = {}
        for group in frames_of_groups(nodes, use, packing):
            complete_hz = traffic.refresh_hz * group.complete_share
            for rate_hz, packets in ((complete_hz, group.complete), (traffic.refresh_hz - complete_hz, group.usual)):
                made = [self._packet(one, traffic, ways, group.labels) for one in packets]
                by_rate.setdefault(rate_hz, []).extend(one for one in made if one.wanted_by)
        for rate_hz, made in by_rate.items():
            if made and rate_hz > 0:
                self._sources.append(
                    Source(node=made[0].senders[0], packets=tuple(made), rate_hz=rate_hz, offset_s=offset_s)
                )
            for packet in made:
                self._kept[list(packet.senders)] += FRAMES_KEPT * packet.copies

    def _packet(self, packet: FramePacket, traffic: Traffic, ways: "_Ways", group: Sequence[str]) -> Packet:
        to_one = traffic.addressing == "each" and (traffic.acknowledged or traffic.relaying == "routed")
        wanted_by = [self._index[label] for label in packet.nodes if self._scene.node(label).role != "gateway"]
        return Packet(
            psdu_octets=packet.psdu_octets,
            wanted_by=tuple(wanted_by),
            destination=wanted_by[0] if to_one and wanted_by else EVERYBODY,
            acknowledged=to_one and traffic.acknowledged,
            copies=1 if traffic.acknowledged else traffic.copies,
            repeated_by=() if to_one else tuple(self._index[label] for label in ways.repeating(group)),
            senders=tuple(self._index[label] for label in ways.senders(group)),
        )

    def input(self, network: Network, wishes: Wishes) -> SimulationInput:
        """All of it, with the network's own medium access."""
        scene, links = self._scene, self._links
        traffic, phy = scene.traffic(network.name), phy_of(scene, network.phy)
        nodes = [scene.node(label) for label in links.labels]
        reception = radio.reception_of(phy)
        noise_dbm = [radio.noise_dbm(scene.node_type(node.node_type), reception) for node in nodes]
        usual_dbm = phy.required_sensitivity_dbm + radio.SENSING_ABOVE_DB
        return SimulationInput(
            power_dbm=links.received_dbm,
            noise_dbm=np.array(noise_dbm),
            sensing_dbm=usual_dbm if wishes.sensing_dbm is None else wishes.sensing_dbm,
            sources=tuple(self._sources),
            duration_s=wishes.duration_s,
            warm_up_s=WARM_UP_S,
            seed=wishes.seed,
            access=radio.access_of(phy, traffic),
            frame_times=radio.frame_times_of(phy),
            reception=reception,
            backgrounds=tuple(self._backgrounds(phy, wishes)),
            fades=np.array([wishes.fading and end_of(scene, node).moves for node in nodes]),
            next_hop=self._next_hop,
            jitter_us=traffic.jitter_ms * 1000,
            queue_packets=np.maximum(self._queue, self._kept),
        )

    def _backgrounds(self, phy: reference.Phy, wishes: Wishes) -> Iterator[Background]:
        for other in self._scene.occupied_spectrum:
            level_dbm = interference_of(other, self._links.frequency_mhz, phy.noise_bandwidth_mhz, self._state)
            share = busy_share_of(other, self._state)
            if level_dbm is not None and share > 0:
                yield Background(power_dbm=level_dbm, busy_share=share, mean_burst_s=wishes.mean_burst_ms / 1000)


class _Ways:
    """Who sends a group's packets first, and who repeats them."""

    def __init__(self, links: NetworkLinks, traffic: Traffic) -> None:
        self._relaying = traffic.relaying
        self._by_role = {
            role: [label for label, its in zip(links.labels, links.roles, strict=True) if its == role]
            for role in ("gateway", "relay")
        }
        self.routes: Mapping[str, Route] = best_routes(link_graph(links))
        gateways = [links.labels.index(label) for label in self._by_role["gateway"]]
        delivery = np.nan_to_num(links.delivery[gateways], nan=0.0)
        self._home: dict[str, int] = dict(zip(links.labels, np.argmax(delivery, axis=0).tolist(), strict=True))

    def senders(self, labels: Sequence[str]) -> list[str]:
        """The gateways that send: all where relays repeat, else those that serve a node of the group."""
        gateways = self._by_role["gateway"]
        if self._relaying == "repeated":
            return gateways
        return sorted({self._gateway_of(label) for label in labels}, key=gateways.index)

    def repeating(self, labels: Sequence[str]) -> list[str]:
        """All relays, those on the routes of the group, or none."""
        if self._relaying == "repeated":
            return self._by_role["relay"]
        if self._relaying == "none":
            return []
        return sorted({inner for label in labels if label in self.routes for inner in self.routes[label].nodes[1:-1]})

    def _gateway_of(self, label: str) -> str:
        if self._relaying == "routed" and label in self.routes:
            return self.routes[label].nodes[0]
        return str(self._by_role["gateway"][self._home[label]])
