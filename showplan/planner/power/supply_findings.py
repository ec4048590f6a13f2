"""Findings on supplies: headroom, voltage that may be touched, limited power."""

from collections.abc import Iterator, Mapping
from typing import Final

from showplan.planner.findings import Finding, Quantity
from showplan.planner.power.results import SupplyPower
from showplan.planner.power.supply_facts import SupplyFacts
from showplan.planner.power.words import Judged, about
from showplan.reference.batteries import battery_presets
from showplan.reference.limits import voltage_limits
from showplan.reference.loads import load_presets

HEADROOM: Final = 0.8  # of a supply that may be used for long
HEADROOM_SOURCE: Final = "20 % of headroom: a tape seller's page"
LIMITED_VA: Final = 100.0
LIMITED_V: Final = 30.0
LOW_A: Final = 5.0  # to 20 V
LOW_V: Final = 20.0
LIMITED_SOURCE: Final = "NEC class 2: 100 VA to 30 V (read); 5 A to 20 V (table 11(B), from memory)"


def supply_findings(judged: Judged) -> Iterator[Finding]:
    """Every supply with the nodes it feeds, and nodes without one."""
    entered = [one for one in judged.facts.supplies if one.supply is not None]
    for facts, power in zip(entered, judged.power.supplies, strict=True):
        if not power.nodes:
            continue
        yield from _headroom(facts, power)
        yield from _voltage(judged, facts, power)
        yield from _isolation(facts)
        yield from _limited(facts, power)
    yield from _presets(judged)
    for node in judged.power.nodes:
        if node.supply is None:
            yield about(
                ("node", node.node),
                "no-supply",
                "warn",
                f"{node.node} feeds {len(node.outputs)} load{'s' if len(node.outputs) > 1 else ''} and no supply is"
                " entered:"
                " how long it lasts is unknown.",
                "Enter what feeds it.",
                Quantity("takes", node.current.most, "A"),
            )


def _headroom(facts: SupplyFacts, power: SupplyPower) -> Iterator[Finding]:
    if power.limit_a is None:
        if facts.limits_itself:
            yield about(
                ("supply", power.supply),
                "supply-limit-unknown",
                "warn",
                f"{power.supply} gives up to {power.current.most:.3g} A here; its current limit is not entered.",
                f"Enter it; with headroom it needs {power.current.most / HEADROOM:.3g} A.",
                Quantity("gives", power.current.most, "A"),
                source=HEADROOM_SOURCE,
            )
        return
    use = power.current.most / power.limit_a
    if use <= HEADROOM:
        return
    yield about(
        ("supply", power.supply),
        "supply-overloaded" if use > 1 else "supply-headroom-small",
        "stop" if use > 1 else "warn",
        f"{power.supply} gives up to {power.current.most:.3g} A of {power.limit_a:.3g} A, {100 * use:.0f} %.",
        f"Use one of {power.current.most / HEADROOM:.3g} A or more, or share the nodes between supplies.",
        Quantity("gives", power.current.most, "A"),
        Quantity("limit", power.limit_a, "A"),
        source=HEADROOM_SOURCE,
    )


def _voltage(judged: Judged, facts: SupplyFacts, power: SupplyPower) -> Iterator[Finding]:
    """The highest voltage, of the cells too, where people may touch it."""
    is_wet = any(judged.is_wet(judged.scene.node(label)) for label in power.nodes)
    rule = voltage_limits()["selv-wet" if is_wet else "selv-dry"]
    limit_v = rule.direct_v or 0.0
    volts = max(facts.emf_v.full, facts.pack_v.full)
    if volts <= limit_v:
        return
    yield about(
        ("supply", power.supply),
        "over-extra-low-voltage",
        "stop",
        f"{power.supply} reaches {volts:.3g} V; {'wet or worn' if is_wet else 'dry'}, bare parts may have {limit_v:g} V"
        " direct current at most.",
        f"Stay at {limit_v:g} V or below, or have a licensed electrician protect every live part.",
        Quantity("reaches", volts, "V"),
        Quantity("limit", limit_v, "V"),
        source=rule.source,
    )


def _isolation(facts: SupplyFacts) -> Iterator[Finding]:
    supply = facts.supply
    if supply is None or supply.kind != "mains" or supply.isolation == "selv":
        return
    is_known = supply.isolation == "none"
    yield about(
        ("supply", supply.label),
        "not-isolated" if is_known else "isolation-unknown",
        "stop" if is_known else "warn",
        f"{supply.label} is {'not parted' if is_known else 'not known to be parted'} from the mains by a safety"
        " transformer"
        " (SELV).",
        "Use a supply marked SELV, and let a licensed person do the mains side.",
        source=voltage_limits()["selv-dry"].source,
    )


def _limited(facts: SupplyFacts, power: SupplyPower) -> Iterator[Finding]:
    supply = facts.supply
    if supply is None or not supply.is_limited_power:
        return
    if supply.kind == "battery":
        yield about(
            ("supply", supply.label),
            "battery-not-limited",
            "warn",
            f"{supply.label} counts as a limited-power supply; a battery is none merely because its voltage is low.",
            "Take the mark off unless the pack itself limits its power, and fuse every conductor.",
            source=LIMITED_SOURCE,
        )
    volts = facts.emf_v.full
    most_a = LOW_A if volts <= LOW_V else LIMITED_VA / volts
    if volts > LIMITED_V or power.current.most > most_a:
        yield about(
            ("supply", supply.label),
            "over-limited-power",
            "stop",
            f"{supply.label} gives {power.current.most:.3g} A at {volts:.3g} V; a limited-power supply gives at most"
            f" {most_a:.3g} A at that voltage and has {LIMITED_V:g} V at most.",
            f"Share the loads between supplies of {most_a * volts:.0f} VA each.",
            Quantity("gives", power.current.most, "A"),
            Quantity("limit", most_a, "A"),
            source=LIMITED_SOURCE,
        )


def _presets(judged: Judged) -> Iterator[Finding]:
    """Presets that no table has."""
    named: list[tuple[str, str, str, Mapping[str, object]]] = [
        ("supply", one.label, one.preset, battery_presets()) for one in judged.scene.supplies
    ]
    named += [("load", one.label, one.preset, load_presets()) for one in judged.scene.loads]
    for kind, label, preset, known in named:
        if preset and preset not in known:
            yield about(
                (kind, label),
                "preset-unknown",
                "warn",
                f"{label} names the preset {preset}, which no table has: nothing is taken from it.",
                f"Name one of {', '.join(known)}.",
            )
