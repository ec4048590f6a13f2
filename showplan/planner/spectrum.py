"""Is a network inside the region's dated limits, and is its radio channel free of what is known to be there?"""

from collections.abc import Iterable, Iterator

from showplan.planner.analysis import Analysis
from showplan.planner.findings import Finding, Quantity, Subject
from showplan.planner.links import centre_frequency_mhz
from showplan.planner.phys import phy_of
from showplan.planner.reception import busy_share_of, interference_of, surroundings_of
from showplan.planner.region_limits import QUESTION, Use, limit_findings
from showplan.planner.scene import Network, Node, NodeType, Scene


def spectrum_findings(analysis: Analysis) -> Iterator[Finding]:
    """Findings on 'is it legal and quiet here?' for every network with a placed node."""
    scene = analysis.scene
    for network in scene.networks:
        node_types = _types_in(scene, network, scene.placed_nodes())
        if not node_types:
            continue
        yield from _by_law(scene, network, node_types)
        frequency_mhz = centre_frequency_mhz(scene, network)
        if frequency_mhz is not None:
            yield from _shared(analysis, Use(network, phy_of(scene, network.phy), frequency_mhz, node_types))


def kit_findings(scene: Scene) -> Iterator[Finding]:
    """The same against the region's limits alone, for the whole kit of the tour: placed in the venue or not."""
    for network in scene.networks:
        node_types = _types_in(scene, network, scene.nodes)
        if node_types:
            yield from _by_law(scene, network, node_types)


def _types_in(scene: Scene, network: Network, nodes: Iterable[Node]) -> tuple[NodeType, ...]:
    names = sorted({node.node_type for node in nodes if node.network == network.name})
    return tuple(scene.node_type(name) for name in names)


def _by_law(scene: Scene, network: Network, node_types: tuple[NodeType, ...]) -> Iterator[Finding]:
    yield from _phy_mismatches(network, node_types)
    frequency_mhz = centre_frequency_mhz(scene, network)
    if frequency_mhz is None:
        yield _unknown_channel(scene, network)
    else:
        yield from limit_findings(
            scene.venue.region, Use(network, phy_of(scene, network.phy), frequency_mhz, node_types)
        )


def _unknown_channel(scene: Scene, network: Network) -> Finding:
    phy = phy_of(scene, network.phy)
    allowed = phy.radio_channels
    return Finding(
        code="radio-channel-unknown",
        question=QUESTION,
        severity="stop",
        subject=Subject("network", network.name),
        sentence=f"{phy.name} has no radio channel {network.radio_channel}.",
        remedy=f"Choose a radio channel from {allowed[0]} to {allowed[-1]}.",
        source=phy.source,
    )


def _phy_mismatches(network: Network, node_types: tuple[NodeType, ...]) -> Iterator[Finding]:
    for node_type in node_types:
        if node_type.phy != network.phy:
            yield Finding(
                code="phy-mismatch",
                question=QUESTION,
                severity="stop",
                subject=Subject("node type", node_type.name),
                sentence=f"{node_type.name} speaks {node_type.phy}, network {network.name} is {network.phy}:"
                " these nodes cannot hear it.",
                remedy="Move the nodes to a network of their PHY, or use another node type.",
            )


def _shared(analysis: Analysis, use: Use) -> Iterator[Finding]:
    state = analysis.state
    surroundings = surroundings_of(analysis.scene, use.network.phy, use.frequency_mhz, state)
    for other in analysis.scene.occupied_spectrum:
        apart_mhz = abs(use.frequency_mhz - other.centre_mhz)
        clear_mhz = (use.bandwidth_mhz + other.bandwidth_mhz) / 2
        if apart_mhz < clear_mhz:
            quantities = [Quantity("apart", apart_mhz, "MHz"), Quantity("needed", clear_mhz, "MHz")]
            level_dbm = interference_of(other, use.frequency_mhz, surroundings.bandwidth_mhz, state)
            if level_dbm is not None:
                quantities.append(Quantity("in our band", level_dbm, "dBm"))
                quantities.append(Quantity("sends", 100 * busy_share_of(other, state), "% of the time"))
                rise_db = max(surroundings.noise_rise_db(node_type) for node_type in use.node_types)
                quantities.append(Quantity("receivers need more", rise_db, "dB"))
            yield Finding(
                code="spectrum-shared",
                question=QUESTION,
                severity="warn",
                subject=Subject("network", f"{use.network.name} with {other.label}"),
                sentence=f"Radio channel {use.network.radio_channel} overlaps {other.label}.",
                remedy=f"Choose a radio channel {clear_mhz:.1f} MHz or more from {other.centre_mhz:g} MHz.",
                quantities=tuple(quantities),
                formulas=("overlap_share", "interference_after_rejection_dbm"),
            )
