"""From a Scene and a crew's wishes to the arrays that the relay planner solves."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from showplan.physics.air_time import frame_air_time_ms
from showplan.planner.faults import Fault
from showplan.planner.links import centre_frequency_mhz, members
from showplan.planner.obstacles import states_of
from showplan.planner.phys import phy_of
from showplan.planner.reach import reach
from showplan.planner.relays.own_links import OwnLinks
from showplan.planner.relays.problem import MOST_SITES, AirLimit, RelayProblem, RelayProblemError
from showplan.planner.relays.sites import Site, layout_faults, sites_of
from showplan.planner.relays.wishes import AirWish, RelayWishes
from showplan.planner.scene import Network, Node, Placement, Scene

Floats = NDArray[np.float64]
Nodes = Sequence[Node]
Wanted = tuple[float, float]  # of a hop: least delivery, margin in dB beyond the fade margin


@dataclass(frozen=True)
class RelayTask:
    """A relay placement to be solved: the problem, and what its indices stand for.

    `gateways` are placed gateways, or the sites of which some become gateways (`gateway_sites`, in the same order).
    `nodes` are the receivers that must be served.
    """

    wishes: RelayWishes
    sites: tuple[Site, ...]
    gateways: tuple[Node, ...]
    gateway_sites: tuple[Site, ...]
    nodes: tuple[Node, ...]
    problem: RelayProblem


@dataclass(frozen=True)
class Field:
    """Who is in play: sites, gateways and receivers, before any link is worked out."""

    network: Network
    sites: tuple[Site, ...]
    gateways: tuple[Node, ...]
    gateway_sites: tuple[Site, ...]
    nodes: tuple[Node, ...]


def relay_task(scene: Scene, wishes: RelayWishes) -> RelayTask:
    """The task that the wishes pose in this venue. Raises RelayProblemError with every fault and its place."""
    field = field_of(scene, wishes)
    network, sites, gateways, nodes = field.network, field.sites, field.gateways, field.nodes
    frequency_mhz = centre_frequency_mhz(scene, network)
    assert frequency_mhz is not None  # refused by field_of
    links = _Links(scene, network, frequency_mhz, wishes.acknowledged)
    relays = [_standing(site, wishes.relay_type, "relay", network) for site in sites]
    wanted = [_wanted(node, wishes) for node in nodes]
    groups = sorted(set(wanted))
    between = [_symmetric(good) for good in links.between(relays, relays, groups)]
    first = links.between(gateways, relays, groups)
    problem = RelayProblem(
        site_names=tuple(site.name for site in sites),
        node_names=tuple(node.label for node in nodes),
        gateway_names=tuple(node.label for node in gateways),
        site_to_site=np.maximum.reduce(between),
        site_to_node=links.to_nodes(relays, nodes, wanted),
        gateway_to_site=np.maximum.reduce(first),
        gateway_to_node=links.to_nodes(gateways, nodes, wanted),
        cost=np.array([site.cost for site in sites], dtype=np.float64),
        must=np.array([site.must for site in sites], dtype=np.bool_),
        never=np.array([site.never for site in sites], dtype=np.bool_),
        most_hops=wishes.most_hops,
        routes=tuple(_routes_of(node, wishes) for node in nodes),
        most_relays=wishes.most_relays,
        gateways_to_choose=wishes.gateways_to_choose,
        air=_air_limit(wishes.air, scene, network) if wishes.air else None,
        own_links=_own_links(groups, wanted, between, first),
    )
    return RelayTask(wishes, sites, gateways, field.gateway_sites, nodes, problem)


def field_of(scene: Scene, wishes: RelayWishes) -> Field:
    """Who is in play; quick, so that a fault is told when the question is asked. Raises RelayProblemError."""
    _refuse([*_unknown(scene, wishes), *layout_faults(scene, wishes)])
    network = scene.network(wishes.network)
    placed = members(scene, network)
    nodes = tuple(node for node in placed if node.role == "receiver")
    present = [n for n in placed if n.role == "relay" and n.placement and n.placement.position_m is not None]
    sites = _with_rules(sites_of(scene, wishes, present), wishes)
    gateway_sites = tuple(site for site in sites if site.has_mains) if wishes.gateways_to_choose else ()
    gateways = _gateways(scene, network, placed, gateway_sites, wishes)
    _refuse(_missing(wishes, nodes, sites, gateways))
    return Field(network, sites, gateways, gateway_sites, nodes)


class _Links:
    """Delivery of links that are good enough in the worst state of the house; 0 where a link is not."""

    def __init__(self, scene: Scene, network: Network, frequency_mhz: float, both_ways: bool) -> None:
        self._scene, self._phy, self._frequency_mhz, self._both_ways = scene, network.phy, frequency_mhz, both_ways

    def between(self, senders: Nodes, receivers: Nodes, wants: Sequence[Wanted]) -> list[Floats]:
        """(senders, receivers) for each of the wants."""
        limits = [(np.float64(least), np.float64(margin_db)) for least, margin_db in wants]
        return self._good(senders, receivers, limits)

    def to_nodes(self, senders: Nodes, receivers: Nodes, wants: Sequence[Wanted]) -> Floats:
        """(senders, receivers), each receiver with its own want."""
        by_node = np.array(wants).reshape(-1, 2)
        [good] = self._good(senders, receivers, [(by_node[:, 0], by_node[:, 1])])
        return good

    def _good(self, senders: Nodes, receivers: Nodes, limits: Sequence[tuple[Any, Any]]) -> list[Floats]:
        worst: list[Floats] = [np.ones((len(senders), len(receivers))) for _ in limits]
        for state in states_of(self._scene):
            found = reach(
                self._scene, self._phy, self._frequency_mhz, state, senders, receivers, both_ways=self._both_ways
            )
            for place, (least, margin_db) in enumerate(limits):
                usable = (found.delivery >= least) & (found.margin_db >= margin_db)
                worst[place] = np.minimum(worst[place], np.where(usable, found.delivery, 0.0))
        return worst


def _own_links(
    groups: Sequence[Wanted], wanted: Sequence[Wanted], between: Sequence[Floats], first: Sequence[Floats]
) -> tuple[OwnLinks, ...]:
    """The links of each group of nodes that want the same of a hop; none where all want the same."""
    if len(groups) == 1:
        return ()
    return tuple(
        OwnLinks(tuple(node for node, one in enumerate(wanted) if one == want), sites > 0, gateways > 0)
        for want, sites, gateways in zip(groups, between, first, strict=True)
    )


def _symmetric(delivery: Floats) -> Floats:
    """Relays of one type reach each other alike; what rounding tells apart is made equal, and none reaches itself."""
    same = np.minimum(delivery, delivery.T)
    np.fill_diagonal(same, 0.0)
    return same


def _with_rules(sites: tuple[Site, ...], wishes: RelayWishes) -> tuple[Site, ...]:
    return tuple(
        replace(
            site,
            must=(site.must and site.name not in wishes.never) or site.name in wishes.must,
            never=(site.never and site.name not in wishes.must)
            or site.name in wishes.never
            or (wishes.needs_mains and not site.has_mains),
        )
        for site in sites
    )


def _gateways(
    scene: Scene, network: Network, placed: tuple[Node, ...], sites: tuple[Site, ...], wishes: RelayWishes
) -> tuple[Node, ...]:
    standing = tuple(
        node for node in placed if node.role == "gateway" and node.placement and node.placement.position_m is not None
    )
    if wishes.gateways_to_choose is None:
        return standing
    kit = [node for node in scene.nodes if node.role == "gateway" and node.network == network.name]
    if not kit:
        return ()
    return tuple(_standing(site, kit[0].node_type, "gateway", network) for site in sites)


def _standing(site: Site, node_type: str, role: str, network: Network) -> Node:
    """A node that would stand at the site."""
    placement = Placement(level=site.level, position_m=site.position_m, height_m=site.height_m)
    return Node(
        label=site.name[:80],
        role=role,  # type: ignore[arg-type]
        node_type=node_type,
        network=network.name,
        short_address=0,
        placement=placement,
    )


def _routes_of(node: Node, wishes: RelayWishes) -> int:
    return 2 if any(name in wishes.two_routes_for for name in _names_of(node)) else wishes.routes


def _wanted(node: Node, wishes: RelayWishes) -> Wanted:
    """Least delivery and extra margin in dB wanted of every hop to the node: its own demand before its zone's."""
    demands = {demand.name: demand for demand in wishes.demands}
    own = next((demands[name] for name in _names_of(node) if name in demands), wishes)
    return own.least_delivery, own.extra_margin_db


def _names_of(node: Node) -> list[str]:
    """The node's label and the zone it moves in."""
    zone = node.placement.zone if node.placement else None
    return [node.label, *([zone] if zone else [])]


def _air_limit(wish: AirWish, scene: Scene, network: Network) -> AirLimit:
    phy = phy_of(scene, network.phy)
    packet_s = float(frame_air_time_ms(wish.packet_octets, phy.bit_rate_kbps, phy.header_octets)) / 1000
    packets = wish.packets if wish.kind == "repeated" else 1
    return AirLimit(kind=wish.kind, packet_s=packets * packet_s, allowed_s=wish.share / wish.refresh_hz)


def _unknown(scene: Scene, wishes: RelayWishes) -> Iterator[Fault]:
    networks = {network.name: network for network in scene.networks}
    types = {one.name: one for one in scene.node_types}
    network, relay_type = networks.get(wishes.network), types.get(wishes.relay_type)
    if network is None:
        yield Fault("/network", f"there is no network {wishes.network!r} here; known: {_listed(networks)}")
    elif centre_frequency_mhz(scene, network) is None:
        yield Fault("/network", f"radio channel {network.radio_channel} is not one of {network.phy}")
    if relay_type is None:
        yield Fault("/relay_type", f"there is no node type {wishes.relay_type!r}; known: {_listed(types)}")
    elif network is not None and relay_type.phy != network.phy:
        fitting = _listed(name for name, one in types.items() if one.phy == network.phy)
        yield Fault(
            "/relay_type",
            f"{relay_type.name!r} speaks {relay_type.phy}, network {network.name!r} {network.phy}: choose a node type"
            f" that speaks it too; known: {fitting}",
        )
    known = {node.label for node in scene.nodes} | {zone.name for zone in scene.zones}
    for pointer, name in _named(wishes):
        if name not in known:
            yield Fault(pointer, f"there is no node or zone {name!r} here")
    first: dict[str, int] = {}
    for index, demand in enumerate(wishes.demands):
        if (earlier := first.setdefault(demand.name, index)) != index:
            message = f"{demand.name!r} has a demand already, number {earlier + 1}: give each node or zone one"
            yield Fault(f"/demands/{index}/name", message)


def _named(wishes: RelayWishes) -> Iterator[tuple[str, str]]:
    """Each node or zone that wants something of its own, with its place among the wishes."""
    for index, name in enumerate(wishes.two_routes_for):
        yield f"/two_routes_for/{index}", name
    for index, demand in enumerate(wishes.demands):
        yield f"/demands/{index}/name", demand.name


def _missing(
    wishes: RelayWishes, nodes: tuple[Node, ...], sites: tuple[Site, ...], gateways: tuple[Node, ...]
) -> list[Fault]:
    faults = []
    names = {site.name for site in sites}
    for field in ("must", "never"):
        for index, name in enumerate(getattr(wishes, field)):
            if name not in names:
                faults.append(Fault(f"/{field}/{index}", f"there is no site {name!r}"))
    both = sorted(set(wishes.must) & set(wishes.never))
    faults += [Fault("/must", f"{name!r} is also among 'never': take it out of one") for name in both]
    if not sites:
        faults.append(
            Fault("/sites", "there is no site: draw candidate sites, or lay some out on a line, grid or edge")
        )
    if len(sites) > MOST_SITES:
        advice = "take a wider step, fewer levels, or sites along lines in place of a grid"
        faults.append(
            Fault("/sites", f"these are {len(sites):,} sites, more than the {MOST_SITES:,} planned for: {advice}")
        )
    concerned = {name for node in nodes for name in _names_of(node)}
    for pointer, name in _named(wishes):
        if nodes and name not in concerned:
            message = f"network {wishes.network!r} has no receiver here that is called {name!r} or moves in such a zone"
            faults.append(Fault(pointer, message))
    if not nodes:
        faults.append(Fault("/network", f"network {wishes.network!r} has no receiver in this venue: place some first"))
    if not gateways and wishes.gateways_to_choose is None:
        faults.append(Fault("/network", f"network {wishes.network!r} has no gateway at a fixed point here: place one"))
    elif not gateways:
        message = "to choose a gateway's site, the kit needs a gateway of this network and the venue a site with mains"
        faults.append(Fault("/gateways_to_choose", message))
    return faults


def _refuse(faults: list[Fault]) -> None:
    if faults:
        raise RelayProblemError(faults)


def _listed(names: Iterable[str]) -> str:
    return ", ".join(sorted(names)) or "none"
