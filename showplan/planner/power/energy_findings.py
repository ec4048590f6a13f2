"""Findings on the show day: whether packs last, how many there are, charging, standing current."""

from collections.abc import Iterator
from typing import Final

from showplan.planner.findings import Finding, Quantity
from showplan.planner.power.advice import bigger_pack
from showplan.planner.power.results import PackDay, SupplyPower
from showplan.planner.power.supply_facts import SupplyFacts
from showplan.planner.power.words import Judged, about

SMALL_MARGIN: Final = 0.25  # left in the emptiest pack of the day
STANDING_SHARE: Final = 0.5  # of the day's energy that radio and controllers take


def energy_findings(judged: Judged) -> Iterator[Finding]:
    """Every battery that feeds a node."""
    entered = [one for one in judged.facts.supplies if one.supply is not None]
    has_parts = any(part.kind != "gap" for part in judged.scene.show_parts)
    batteries = [
        (facts, power)
        for facts, power in zip(entered, judged.power.supplies, strict=True)
        if facts.is_battery and power.nodes
    ]
    if batteries and not has_parts:
        yield about(
            ("venue", judged.scene.venue.name),
            "no-show-day",
            "warn",
            "No parts of the show day are entered: whether the packs last is unknown; hours at full level stand with"
            " each"
            " supply.",
            "Enter rehearsal, pre-set, acts and intervals with their minutes and levels.",
        )
    for facts, power in batteries:
        day = power.day
        if day is None:
            yield _no_capacity(power)
            continue
        if has_parts:
            yield from _lasts(power, day)
            yield from _charging(judged, facts, power, day)
            yield from _standing(judged, power)


def _no_capacity(power: SupplyPower) -> Finding:
    return about(
        ("supply", power.supply),
        "capacity-unknown",
        "warn",
        f"The capacity of {power.supply} is not entered: how long it lasts is unknown.",
        "Enter its ampere-hours.",
        Quantity("gives", power.current.nominal, "A at full level"),
    )


def _lasts(power: SupplyPower, day: PackDay) -> Iterator[Finding]:
    subject = ("supply", power.supply)
    quantities = (
        Quantity("usable", day.usable_ah, "Ah"),
        Quantity("the day takes", 100 * day.day_share, "% of a pack"),
        Quantity("packs needed", day.packs_needed, ""),
        Quantity("packs", day.packs, ""),
    )
    worst = max((part for part in power.parts if part.share is not None), key=lambda part: part.share or 0.0)
    if day.unserved:
        yield about(
            subject,
            "part-outlasts-pack",
            "stop",
            f"{power.supply}: no pack lasts through {', '.join(day.unserved)}: {worst.part} takes"
            f" {100 * (worst.share or 0):.0f} % of one, and {100 * day.reserve:.0f} % stay in reserve.",
            "Lower the levels, split the part, or take a bigger pack:"
            f" {bigger_pack(day.capacity_ah, worst.share or 0, day.reserve)}.",
            *quantities,
            formula="discharge_share",
        )
        return
    if day.packs_needed > day.packs:
        yield about(
            subject,
            "packs-short",
            "stop",
            f"{power.supply}: the day takes {day.packs_needed} packs, changed between parts; there "
            f"{'is' if day.packs == 1 else 'are'} {day.packs}.",
            f"Take {day.packs_needed} packs, charge in a gap, or"
            f" {bigger_pack(day.capacity_ah, day.day_share, day.reserve)}.",
            *quantities,
        )
        return
    least = min(part.left for part in power.parts if part.left is not None)
    hours = f"{day.hours_of_show:.1f} h of show" if day.hours_of_show is not None else "no limit"
    sentence = (
        f"{power.supply} lasts: {hours} from a pack; the day takes {100 * day.day_share:.0f} % of one,"
        f" {day.packs_needed} of {day.packs} packs, {day.changes} change{'' if day.changes == 1 else 's'}."
    )
    if least < SMALL_MARGIN and day.packs <= day.packs_needed:
        sentence += f" The emptiest ends with {100 * least:.0f} %."
        yield about(
            subject,
            "margin-small",
            "warn",
            sentence,
            f"Have one more pack, or {bigger_pack(day.capacity_ah, day.day_share, day.reserve + SMALL_MARGIN)}.",
            *quantities,
        )
    else:
        yield about(subject, "power-lasts", "note", sentence, "", *quantities, formula="discharge_share")


def _charging(judged: Judged, facts: SupplyFacts, power: SupplyPower, day: PackDay) -> Iterator[Finding]:
    subject = ("supply", power.supply)
    supply = facts.supply
    if day.overnight_h is None:
        yield about(
            subject,
            "no-charger",
            "warn",
            f"{power.supply} has no charger: its {day.packs} pack{'s' if day.packs > 1 else ''} last one day.",
            f"Enter the chargers; one pack takes {day.charge_hours:.1f} h.",
            Quantity("one pack", day.charge_hours, "h"),
        )
    elif day.overnight_h > day.night_h and supply is not None:
        fewest = next((n for n in range(1, 101) if day.overnight_h * supply.chargers / n <= day.night_h), None)
        more = f"{fewest} chargers" if fewest else "chargers of more current"
        yield about(
            subject,
            "charging-too-slow",
            "warn",
            f"{power.supply}: after the day {day.overnight_h:.1f} h fill all packs on {supply.chargers} charger"
            f"{'' if supply.chargers == 1 else 's'}; until the next day there are {day.night_h:.1f} h.",
            f"Use {more}.",
            Quantity("needed", day.overnight_h, "h"),
            Quantity("there are", day.night_h, "h"),
            formula="charge_h",
        )
    if facts.chemistry and facts.chemistry.charge_from_c > judged.scene.venue.coldest_c:
        yield about(
            subject,
            "charging-in-the-cold",
            "warn",
            f"{power.supply} is lithium, and it gets {judged.scene.venue.coldest_c:g} °C here: below 0 °C it must not"
            " be"
            " charged.",
            "Charge in a warm room, attended, and only once the packs are warm.",
            Quantity("coldest", judged.scene.venue.coldest_c, "°C"),
        )


def _standing(judged: Judged, power: SupplyPower) -> Iterator[Finding]:
    """Radio and controller that take more than the light."""
    on = [part for part in power.parts if part.kind != "gap"]
    hours = sum(part.minutes for part in on) / 60
    drawn_ah = sum(part.mean_a * part.minutes for part in on) / 60
    standing_a = sum(judged.power.node(label).standing_a for label in power.nodes)
    share = standing_a * hours / drawn_ah if drawn_ah > 0 else 0.0
    if share > STANDING_SHARE:
        yield about(
            ("supply", power.supply),
            "standing-current-high",
            "note",
            f"{power.supply}: radio and controllers take {100 * share:.0f} % of the day's charge, the loads the rest.",
            "Switch nodes on late, or let them sleep where the show allows it.",
            Quantity("standing", 1000 * standing_a, "mA"),
        )
