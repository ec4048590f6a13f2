"""Is a network inside the region's dated limits, and is its radio channel free of what is known to be there?"""

from collections.abc import Iterator
from dataclasses import dataclass

from showplan import reference
from showplan.physics.link_budget import eirp_dbm
from showplan.planner.analysis import Analysis
from showplan.planner.findings import Finding, Quantity, Severity, Subject
from showplan.planner.links import centre_frequency_mhz
from showplan.planner.reception import busy_share_of, interference_of, surroundings_of
from showplan.planner.scene import Network, NodeType, Scene

QUESTION = "legal-and-quiet"
REGULATOR_DECIDES = "A dated summary: the regulator decides."


@dataclass(frozen=True)
class _Use:
    """One network as it transmits in the venue."""

    network: Network
    frequency_mhz: float
    bandwidth_mhz: float
    node_types: tuple[NodeType, ...]

    @property
    def low_mhz(self) -> float:
        return self.frequency_mhz - self.bandwidth_mhz / 2

    @property
    def high_mhz(self) -> float:
        return self.frequency_mhz + self.bandwidth_mhz / 2


def spectrum_findings(analysis: Analysis) -> Iterator[Finding]:
    """Findings on 'is it legal and quiet here?' for every network with a placed node."""
    scene = analysis.scene
    for network in scene.networks:
        types = sorted({node.node_type for node in scene.placed_nodes() if node.network == network.name})
        if not types:
            continue
        node_types = tuple(scene.node_type(name) for name in types)
        yield from _phy_mismatches(network, node_types)
        frequency_mhz = centre_frequency_mhz(network)
        if frequency_mhz is None:
            yield _unknown_channel(network)
            continue
        bandwidth_mhz = reference.phys()[network.phy].occupied_bandwidth_mhz
        use = _Use(network, frequency_mhz, bandwidth_mhz, node_types)
        yield from _against_region(scene, use)
        yield from _shared(analysis, use)


def _unknown_channel(network: Network) -> Finding:
    phy = reference.phys()[network.phy]
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


def _against_region(scene: Scene, use: _Use) -> Iterator[Finding]:
    region = reference.regions()[scene.venue.region]
    rules = reference.region_rules(region.key)
    subject = Subject("network", use.network.name)
    if not rules:
        yield Finding(
            code="region-without-table",
            question=QUESTION,
            severity="warn",
            subject=subject,
            sentence=f"There is no table of limits for {region.name}.",
            remedy=f"Ask {region.regulator} before transmitting.",
        )
        return
    covering = [rule for rule in rules if rule.covers(use.low_mhz, use.high_mhz)]
    if not covering:
        bands = ", ".join(sorted({f"{rule.low_mhz:g}-{rule.high_mhz:g}" for rule in rules}))
        yield Finding(
            code="band-not-listed",
            question=QUESTION,
            severity="stop",
            subject=subject,
            sentence=f"{use.low_mhz:.1f} to {use.high_mhz:.1f} MHz is in no band listed for {region.name}.",
            remedy=f"Use a network within {bands} MHz, or ask {region.regulator}.",
            quantities=(
                Quantity("centre", use.frequency_mhz, "MHz"),
                Quantity("width", use.bandwidth_mhz, "MHz"),
            ),
            source=REGULATOR_DECIDES,
        )
        return
    for node_type in use.node_types:
        yield _power(use, node_type, covering)


def _power(use: _Use, node_type: NodeType, rules: list[reference.RegionRule]) -> Finding:
    """The rule that leaves this node type most freedom, or by how much it is over the mildest limit."""
    radiated_dbm = float(eirp_dbm(node_type.transmit_power_dbm, node_type.antenna_gain_dbi, node_type.cable_loss_db))
    limits = {rule: _limit_dbm(rule, use, node_type) for rule in rules}
    kept = [rule for rule, limit_dbm in limits.items() if radiated_dbm <= limit_dbm + 1e-9]
    rule = max(kept or rules, key=lambda rule: (rule.duty_percent or 100.0 if kept else 0.0, limits[rule]))
    over_db = radiated_dbm - limits[rule]
    severity: Severity
    if not kept:
        code, severity = "power-over-limit", "stop"
        sentence = f"{node_type.name} radiates {radiated_dbm:.1f} dBm EIRP, {over_db:.1f} dB over the limit."
        remedy = f"Lower the transmit power or the antenna gain by {over_db:.1f} dB."
    elif rule.duty_percent is not None:
        code, severity = "duty-limited", "warn"
        sentence = f"{node_type.name} may send {rule.duty_percent:g} % of the time: too little for live show data."
        remedy = "Use a band without a duty limit, or send cues only and watch the air time."
        if rule.access:
            remedy += f" The rule also allows: {rule.access}."
    else:
        code, severity = "within-limit", "note"
        sentence = f"{node_type.name} radiates {radiated_dbm:.1f} dBm EIRP, within the limit listed."
        remedy = ""
    trust = " (this row is from memory: have it checked)" if rule.standing == "memory" else ""
    dated = f", as of {rule.as_of}" if rule.as_of else ""
    return Finding(
        code=code,
        question=QUESTION,
        severity=severity,
        subject=Subject("node type", f"{node_type.name} in {use.network.name}"),
        sentence=sentence,
        remedy=remedy,
        quantities=(
            Quantity("radiated", radiated_dbm, "dBm EIRP"),
            Quantity("limit", limits[rule], "dBm EIRP"),
            Quantity("centre", use.frequency_mhz, "MHz"),
        ),
        formulas=("eirp_dbm",),
        source=f"{rule.citation}{dated}{trust}. {REGULATOR_DECIDES}",
    )


def _limit_dbm(rule: reference.RegionRule, use: _Use, node_type: NodeType) -> float:
    """EIRP that the rule allows this node type with its antenna and the network's bandwidth; -inf if not open to it."""
    if rule.min_bandwidth_khz is not None and use.bandwidth_mhz * 1000 < rule.min_bandwidth_khz:
        return float("-inf")
    gain_dbi = node_type.antenna_gain_dbi
    by_antenna_dbm = rule.limit_conducted_dbm(gain_dbi) + gain_dbi
    return min(by_antenna_dbm, rule.limit_eirp_in_bandwidth_dbm(use.bandwidth_mhz))


def _shared(analysis: Analysis, use: _Use) -> Iterator[Finding]:
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
