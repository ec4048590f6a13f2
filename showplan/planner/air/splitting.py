"""How many networks, on as many radio channels, reach the refresh rate that one cannot; and which node goes where."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import networkx as nx

from showplan import reference
from showplan.planner.air.network import Draft
from showplan.planner.air.radio import Radio, radio_of
from showplan.planner.air.slots import SlotUse, usual_feed
from showplan.planner.analysis import Analysis
from showplan.planner.routes import FEED, best_routes

MOST_NETWORKS = 16


@dataclass(frozen=True)
class Share:
    """One network of the split: its gateway stands where `gateway` stands now; `nodes` and slots that it serves."""

    gateway: str
    nodes: tuple[str, ...]
    slots: int
    refresh_hz: float


@dataclass(frozen=True)
class Split:
    """A split of a network into several, each with a gateway, a feed and a radio channel of its own.

    `wanted_hz` is reached where `is_enough`; else this is the best of those that there are radio channels for.
    `unreached` nodes hear no gateway. `reason` says what decided.
    """

    network: str
    wanted_hz: float
    shares: tuple[Share, ...]
    radio_channels: int
    is_enough: bool
    unreached: tuple[str, ...]
    reason: str

    @property
    def refresh_hz(self) -> float:
        """The rate of the slowest network."""
        return min((share.refresh_hz for share in self.shares), default=0.0)


def split_of(analysis: Analysis, network: str) -> Split | None:
    """The fewest networks that reach the rate wanted, or the best split there is; None where nothing is sent.

    Gateways stand where some stand now: several may share a place. Each node goes to a gateway that has a route to it;
    the heaviest are given away first, each to the network with the least to send.
    """
    if network not in analysis.air or not analysis.air[network].slots:
        return None
    scene = analysis.scene
    radio = radio_of(scene, scene.network(network), analysis.links[network], analysis.routes[network])
    reach, unreached = _reach(analysis, network, radio)
    wanted_hz, channels = scene.traffic(network).refresh_hz, _channels(radio)
    best: Split | None = None
    for count in range(1, min(channels, MOST_NETWORKS, max(len(radio.use.by_node), 1)) + 1):
        shares = _shares(analysis, radio, reach, count)
        if not shares:
            break
        slowest = min(share.refresh_hz for share in shares)
        enough = slowest >= wanted_hz
        if best is None or slowest > best.refresh_hz:
            best = Split(network, wanted_hz, shares, channels, enough, unreached, _reason(shares, wanted_hz, enough))
        if enough:
            break
    return best


def _channels(radio: Radio) -> int:
    """Radio channels of the PHY in bands listed for the region, far enough apart; all where no table is held."""
    phy, region = radio.phy, radio.scene.venue.region
    rules = reference.region_rules(region)
    usable: list[float] = []
    for channel in phy.radio_channels:
        centre_mhz = phy.centre_frequency_mhz(channel)
        half_mhz = phy.occupied_bandwidth_mhz / 2
        listed = any(
            rule.covers(centre_mhz - half_mhz, centre_mhz + half_mhz) and rule.is_open_to(phy.occupied_bandwidth_mhz)
            for rule in rules
        )
        apart = not usable or centre_mhz - usable[-1] >= phy.occupied_bandwidth_mhz - 1e-9
        if apart and (listed or not rules):
            usable.append(centre_mhz)
    return len(usable)


def _reach(analysis: Analysis, network: str, radio: Radio) -> tuple[dict[str, tuple[str, ...]], tuple[str, ...]]:
    """For each node that uses slots the gateways with a route to it, and the nodes that have none."""
    graph = analysis.graphs[network]
    gateways = [label for label, role in zip(radio.links.labels, radio.links.roles, strict=True) if role == "gateway"]
    reached = {gateway: _reached(graph, gateway, gateways) for gateway in gateways}
    found = {
        label: tuple(gateway for gateway in gateways if label in reached[gateway])
        for label in sorted(radio.use.by_node)
    }
    return {label: near for label, near in found.items() if near}, tuple(
        label for label, near in found.items() if not near
    )


def _reached(graph: nx.DiGraph, gateway: str, gateways: list[str]) -> set[str]:
    """The nodes with a route from one gateway that passes no other."""
    alone = graph.subgraph(set(graph) - (set(gateways) - {gateway}))
    return set(nx.descendants(alone, gateway))


def _shares(analysis: Analysis, radio: Radio, reach: dict[str, tuple[str, ...]], count: int) -> tuple[Share, ...]:
    """A balanced assignment to `count` networks, with the rate of each."""
    gateways = sorted({gateway for near in reach.values() for gateway in near})
    if not gateways:
        return ()
    homes = [gateways[i % len(gateways)] for i in range(max(count, 1))]
    held: list[list[str]] = [[] for _ in homes]
    # Fewer networks than gateways: a network may keep several gateways, so every node may go anywhere.
    anywhere = len(homes) < len(gateways)
    allowed = {label: [i for i, home in enumerate(homes) if anywhere or home in near] for label, near in reach.items()}
    for label in sorted(reach, key=lambda label: (-len(radio.use.by_node[label]), len(allowed[label]), label)):
        lightest = min(allowed[label], key=lambda i: (radio.use.together(held[i]), len(held[i]), i))
        held[lightest].append(label)
    return tuple(
        Share(
            home,
            tuple(sorted(labels)),
            radio.use.together(labels),
            _rate(analysis, radio if anywhere else _from(analysis, radio, home), labels),
        )
        for home, labels in zip(homes, held, strict=True)
        if labels
    )


def _from(analysis: Analysis, radio: Radio, gateway: str) -> Radio:
    """The radio of a network with this gateway alone: the others belong to other networks then."""
    pairs = zip(radio.links.labels, radio.links.roles, strict=True)
    roles = tuple("receiver" if role == "gateway" and label != gateway else role for label, role in pairs)
    graph = analysis.graphs[radio.network.name].copy()
    graph.remove_nodes_from([label for label in radio.links.labels if graph.has_edge(FEED, label) and label != gateway])
    return replace(radio, links=replace(radio.links, roles=roles), routes=best_routes(graph))


def _rate(analysis: Analysis, radio: Radio, labels: Iterable[str]) -> float:
    """Frames a second of a network that serves these nodes alone, with a feed of their slots."""
    by_node = {label: radio.use.by_node[label] for label in labels}
    use = SlotUse(by_node, radio.use.is_assumed, ())
    part = replace(radio, use=use)
    entered = radio.scene.feed(radio.network.name) or usual_feed(radio.network, use)
    feed = replace(entered, slots=max(len(use.used), 1))
    return Draft.of(part, analysis.state, None, feed).limits()[0].hz


def _reason(shares: tuple[Share, ...], wanted_hz: float, enough: bool) -> str:
    slowest = min(share.refresh_hz for share in shares)
    count = "one network is" if len(shares) == 1 else f"{len(shares)} networks on radio channels of their own are"
    if enough:
        return f"{count} enough: the slowest carries its slots {slowest:.3g} times a second, {wanted_hz:g} are wanted."
    return (
        f"{count} the best that the radio channels and the time limits here allow: {slowest:.3g} of {wanted_hz:g}"
        " frames a second."
    )
