"""Findings on carrying packs by air."""

from collections.abc import Iterator
from typing import Final

from showplan.physics.batteries import pack_wh
from showplan.planner.findings import Finding, Quantity, Severity
from showplan.planner.power.words import Judged, about
from showplan.reference.carriage import carriage_rule
from showplan.reference.standing import OutsideTable

ASK: Final = (
    "Check the airline and the current dangerous-goods rules: operators are stricter, and a crew's kit may not count as"
    " personal; protect every terminal."
)
SOURCE: Final = "passenger leaflet of the airlines' association, 2018; rules change yearly"
SORTS: Final[dict[str, tuple[str, Severity]]] = {
    "up-to-160": ("pack-needs-approval", "warn"),
    "above-160": ("pack-is-cargo", "stop"),
}
MOST_SPARES, MOST_LARGE = 20, 2


def carriage_findings(judged: Judged) -> Iterator[Finding]:
    """Packs of a kit that flies, each by its watt-hours; spares together."""
    if not judged.scene.venue.reached_by_air:
        return
    spares = large = 0
    for facts in judged.facts.supplies:
        supply = facts.supply
        if supply is None or not facts.is_battery or facts.capacity_ah is None:
            continue
        watt_hours = pack_wh(supply.nominal_v, facts.capacity_ah)
        quantities = (Quantity("pack", watt_hours, "Wh"), Quantity("packs", supply.packs, ""))
        is_lithium = facts.chemistry is None or facts.chemistry.is_lithium
        unknown = " (chemistry unknown: counted as lithium)" if facts.chemistry is None else ""
        try:
            rule = carriage_rule(watt_hours, is_lithium)
        except OutsideTable as error:
            yield _carried(
                supply.label, "pack-not-in-rules", "warn", f"{supply.label}: {error}.", ASK, quantities, SOURCE
            )
            continue
        if is_lithium:
            spares += supply.packs - 1
            large += supply.packs - 1 if rule.needs_approval else 0
        code, severity = SORTS.get(rule.key, ("pack-flies", "note"))
        approval = " The operator must approve it." if rule.needs_approval and rule.most_spares else ""
        sentence = (
            f"A pack of {supply.label} has {watt_hours:.1f} Wh{unknown}: {rule.name}. In a device: {rule.device};"
            " spare:"
            f" {rule.spare}.{approval}"
        )
        yield _carried(supply.label, code, severity, sentence, ASK, quantities, rule.source)
    for count, most, what in ((spares, MOST_SPARES, "spare packs"), (large, MOST_LARGE, "spare packs over 100 Wh")):
        if count > most:
            yield about(
                ("venue", judged.scene.venue.name),
                "too-many-spares" if most == MOST_SPARES else "too-many-large-spares",
                "warn",
                f"The kit has {count} {what}; one person may carry {most}, in the cabin.",
                f"Share them among the crew or send them as cargo. {ASK}",
                Quantity("spares", count, ""),
                source=SOURCE,
            )


def _carried(
    label: str, code: str, severity: Severity, sentence: str, remedy: str, quantities: tuple[Quantity, ...], source: str
) -> Finding:
    return about(("supply", label), code, severity, sentence, remedy, *quantities, formula="pack_wh", source=source)
