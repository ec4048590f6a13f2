"""Findings on carrying packs by air."""

from collections.abc import Iterator
from typing import Final

from showplan.planner.findings import Finding, Quantity
from showplan.planner.power.chemistry import carriage
from showplan.planner.power.words import Judged, about

ASK: Final = (
    "Check the airline and the current dangerous-goods rules: operators are stricter, and crew kit may not count"
)
ASK_MORE: Final = f"{ASK} as personal; protect every terminal."
SOURCE: Final = "IATA leaflet for passengers, 2018; rules change yearly"


def carriage_findings(judged: Judged) -> Iterator[Finding]:
    """Packs of a kit that flies, each by its watt-hours; spares together."""
    if not judged.scene.venue.reached_by_air:
        return
    spares = large = 0
    for facts in judged.facts.supplies:
        supply = facts.supply
        if supply is None or supply.kind != "battery" or supply.capacity_ah is None:
            continue
        watt_hours = supply.nominal_v * supply.capacity_ah
        rule = carriage(facts.chemistry, watt_hours, supply.nominal_v)
        spares += supply.packs - 1
        large += supply.packs - 1 if rule.needs_approval else 0
        severity, sentence = rule.severity, rule.sentence
        yield about(
            ("supply", supply.label),
            rule.code,
            severity,
            f"A pack of {supply.label} has {watt_hours:.1f} Wh: {sentence}",
            ASK_MORE,
            Quantity("pack", watt_hours, "Wh"),
            Quantity("packs", supply.packs, ""),
            formula="watt_hours",
            source=SOURCE,
        )
    for count, most, what in ((spares, 20, "spare packs"), (large, 2, "spare packs over 100 Wh")):
        if count > most:
            yield about(
                ("venue", judged.scene.venue.name),
                "too-many-spares" if most == 20 else "too-many-large-spares",
                "warn",
                f"The kit has {count} {what}; one person may carry {most}, in the cabin.",
                f"Share them among the crew or send them as cargo. {ASK}.",
                Quantity("spares", count, ""),
                source=SOURCE,
            )
