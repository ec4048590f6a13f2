"""One network against the dated limits of a region: power, and the time it may send."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from showplan import reference
from showplan.physics.air_time import frames_per_second
from showplan.physics.link_budget import eirp_dbm
from showplan.planner.findings import Finding, Quantity, Severity, Subject
from showplan.planner.scene import Network, NodeType

QUESTION = "legal-and-quiet"
REGULATOR_DECIDES = "A dated summary: the regulator decides."
# Common practice, no source: below ten longest frames a second a fade is seen to step, and a lost one is missed.
LIVE_FRAMES_PER_S = 10.0


@dataclass(frozen=True)
class Use:
    """One network as it transmits in the venue."""

    network: Network
    phy: reference.Phy
    frequency_mhz: float
    node_types: tuple[NodeType, ...]

    @property
    def bandwidth_mhz(self) -> float:
        """Width that the network takes."""
        return self.phy.occupied_bandwidth_mhz

    @property
    def low_mhz(self) -> float:
        """Lower edge of what the network takes."""
        return self.frequency_mhz - self.bandwidth_mhz / 2

    @property
    def high_mhz(self) -> float:
        """Upper edge of what the network takes."""
        return self.frequency_mhz + self.bandwidth_mhz / 2


def limit_findings(region_key: str, use: Use) -> Iterator[Finding]:
    """What the region's table says of the network: one finding for each node type, or one where no row applies."""
    region = reference.regions()[region_key]
    rules = reference.region_rules(region.key)
    open_rules = [rule for rule in rules if rule.is_open_to(use.bandwidth_mhz)]
    covering = [rule for rule in open_rules if rule.covers(use.low_mhz, use.high_mhz)]
    if not rules:
        yield _without_table(region, use)
    elif not covering:
        yield _not_listed(region, use, open_rules)
    else:
        for node_type in use.node_types:
            yield _of_node_type(use, node_type, covering)


def _without_table(region: reference.Region, use: Use) -> Finding:
    return Finding(
        code="region-without-table",
        question=QUESTION,
        severity="warn",
        subject=Subject("network", use.network.name),
        sentence=f"There is no table of limits for {region.name}: power, duty and dwell are unknown.",
        remedy=f"Ask {region.regulator} before transmitting.",
    )


def _not_listed(region: reference.Region, use: Use, rules: list[reference.RegionRule]) -> Finding:
    bands = ", ".join(sorted({f"{rule.low_mhz:g}-{rule.high_mhz:g}" for rule in rules}))
    return Finding(
        code="band-not-listed",
        question=QUESTION,
        severity="stop",
        subject=Subject("network", use.network.name),
        sentence=f"{use.low_mhz:.1f} to {use.high_mhz:.1f} MHz is in no band listed for {region.name}.",
        remedy=f"Use a network within {bands} MHz, or ask {region.regulator}.",
        quantities=(
            Quantity("centre", use.frequency_mhz, "MHz"),
            Quantity("width", use.bandwidth_mhz, "MHz"),
        ),
        source=REGULATOR_DECIDES,
    )


def _of_node_type(use: Use, node_type: NodeType, rules: list[reference.RegionRule]) -> Finding:
    """The rule that leaves this node type most freedom, or by how much it is over the mildest limit."""
    radiated_dbm = _radiated_dbm(node_type)
    limits = {rule: _limit_dbm(rule, use, node_type) for rule in rules}
    kept = _kept_rules(limits, radiated_dbm)
    rule = max(kept or rules, key=lambda rule: (rule.sending_share if kept else 0.0, limits[rule]))
    severity, code, sentence, remedy = (
        _kept(rule, use, node_type, radiated_dbm) if kept else _over(node_type, radiated_dbm, limits[rule])
    )
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
            *(_time_quantities(rule, use) if kept and rule.sending_share < 1 else ()),
        ),
        formulas=("eirp_dbm", "frames_per_second") if kept and rule.sending_share < 1 else ("eirp_dbm",),
        source=f"{rule.citation}{dated}{trust}. {REGULATOR_DECIDES}",
    )


def sending_rule(region_key: str, use: Use, node_type: NodeType) -> reference.RegionRule | None:
    """The rule that leaves this node type most time to send, among those whose power it keeps; None without one."""
    rules = [
        rule
        for rule in reference.region_rules(region_key)
        if rule.is_open_to(use.bandwidth_mhz) and rule.covers(use.low_mhz, use.high_mhz)
    ]
    kept = _kept_rules({rule: _limit_dbm(rule, use, node_type) for rule in rules}, _radiated_dbm(node_type))
    return max(kept or rules, key=lambda rule: rule.sending_share, default=None)


def _radiated_dbm(node_type: NodeType) -> float:
    return float(eirp_dbm(node_type.transmit_power_dbm, node_type.antenna_gain_dbi, node_type.cable_loss_db))


def _kept_rules(limits: Mapping[reference.RegionRule, float], radiated_dbm: float) -> list[reference.RegionRule]:
    return [rule for rule, limit_dbm in limits.items() if radiated_dbm <= limit_dbm + 1e-9]


def _over(node_type: NodeType, radiated_dbm: float, limit_dbm: float) -> tuple[Severity, str, str, str]:
    over_db = radiated_dbm - limit_dbm
    return (
        "stop",
        "power-over-limit",
        f"{node_type.name} radiates {radiated_dbm:.1f} dBm EIRP, {over_db:.1f} dB over the limit.",
        f"Lower the transmit power or the antenna gain by {over_db:.1f} dB.",
    )


def _kept(
    rule: reference.RegionRule, use: Use, node_type: NodeType, radiated_dbm: float
) -> tuple[Severity, str, str, str]:
    allowed = time_limit_in_words(rule)
    conditions = conditions_in_words(rule)
    also = f" {conditions}" if conditions else ""
    if rule.sending_share < 1:
        frames = _frames_per_s(rule, use)
        frames_in_words = f"{frames:.3g} of its longest frames a second"
        if frames < LIVE_FRAMES_PER_S:
            sentence = f"{node_type.name} may send {allowed}: {frames_in_words}, too little for live show data."
            remedy = f"Use a band without a duty limit, or send cues only and watch the air time.{also}"
            return "warn", "duty-limited", sentence, remedy
        sentence = f"{node_type.name} may send {allowed}: {frames_in_words}."
        return "note", "time-limited", sentence, f"Watch the air time.{also}"
    sentence = f"{node_type.name} radiates {radiated_dbm:.1f} dBm EIRP, within the limit listed; {allowed}."
    return "note", "within-limit", sentence, conditions


def time_limit_in_words(rule: reference.RegionRule) -> str:
    """The duty or dwell limit of a rule as a phrase."""
    parts = []
    if rule.duty_percent is not None:
        parts.append(f"{rule.duty_percent:g} % of the time")
    if rule.dwell_s is not None:
        parts.append(f"{rule.dwell_s:g} s in {rule.dwell_window_s:g} s")
    return " and ".join(parts) or "no duty or dwell limit is listed"


def conditions_in_words(rule: reference.RegionRule) -> str:
    """What the rule asks for or allows beside power and time, as sentences; empty where nothing is listed."""
    parts = []
    if rule.sense_dbm is not None:
        parts.append(f"Listen first: less than {rule.sense_dbm:g} dBm for {rule.sense_us:g} µs.")
    if rule.access:
        parts.append(f"The rule also says: {rule.access}.")
    return " ".join(parts)


def _time_quantities(rule: reference.RegionRule, use: Use) -> tuple[Quantity, ...]:
    return (
        Quantity("sending at most", 3600 * rule.sending_share, "s per hour"),
        Quantity("longest frame", use.phy.longest_frame_ms, "ms"),
        Quantity("longest frames", _frames_per_s(rule, use), "per second"),
    )


def _frames_per_s(rule: reference.RegionRule, use: Use) -> float:
    return float(frames_per_second(use.phy.longest_frame_ms, rule.sending_share))


def _limit_dbm(rule: reference.RegionRule, use: Use, node_type: NodeType) -> float:
    """EIRP that the rule allows this node type with its antenna and the network's bandwidth."""
    gain_dbi = node_type.antenna_gain_dbi
    by_antenna_dbm = rule.limit_conducted_dbm(gain_dbi) + gain_dbi
    return min(by_antenna_dbm, rule.limit_eirp_in_bandwidth_dbm(use.bandwidth_mhz))
