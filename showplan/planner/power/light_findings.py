"""Findings on light, and on what a load makes of the voltage it gets."""

from collections.abc import Iterator
from typing import Final

from showplan.planner.findings import Finding, Quantity
from showplan.planner.power.advice import more_feeds
from showplan.planner.power.words import Judged, JudgedOutput

EVEN: Final = 0.8  # darkest over brightest place of a tape; common practice, no source
DIM: Final = 0.5  # of its light at nominal voltage, when the pack is at its cut-off
DARK: Final = 0.1
OVERDRIVEN: Final = 1.2  # times the rated current
TOO_LONG: Final = 0.05  # darkest over brightest: nobody means this
FEW_W: Final = 0.01


def light_findings(judged: Judged) -> Iterator[Finding]:
    """Light of every load: at nominal voltage, along its tape, at the pack's cut-off, on a full pack."""
    for one in judged.outputs():
        if one.output.has_collapsed:
            yield _collapse(one)
            continue
        yield from _too_long(one)
        yield from _dark(one)
        yield from _along(one)
        yield from _when_empty(one)
        yield from _overdriven(one)


def _collapse(one: JudgedOutput) -> Finding:
    output = one.output
    return one.about(
        "voltage-collapse",
        "stop",
        f"{one.name} wants {one.facts.rated_w:.3g} W whatever its voltage: through this supply and these leads no"
        " voltage"
        " gives it that; it collapses.",
        "Use thicker or shorter leads, feed it at more points, or a supply of lower resistance or higher voltage.",
        Quantity("wanted", one.facts.rated_w, "W"),
        Quantity("lead", 1000 * output.lead.ohm, "mohm"),
    )


def _too_long(one: JudgedOutput) -> Iterator[Finding]:
    load = one.load
    if load.kind != "tape" or load.length_m is None:
        return
    light = one.output.light
    if one.facts.behaviour == "led-string" and light.near > 0 and light.evenness < TOO_LONG:
        yield one.about(
            "tape-too-long",
            "warn",
            f"{one.name}: {load.length_m:g} m is longer than makes sense at {one.facts.rated_a:.3g} A and"
            f" {one.facts.tape.ohm_per_m if one.facts.tape else 0:g} ohm a metre: most of it is dark.",
            "Check length and current; else cut it into pieces with a cable each.",
            Quantity("length", load.length_m, "m"),
            Quantity("darkest of brightest", 100 * light.evenness, "%"),
        )


def _dark(one: JudgedOutput) -> Iterator[Finding]:
    output = one.output
    if output.light.near > 0:
        return
    yield one.about(
        "load-dark",
        "stop",
        f"{one.name} gets {output.load_v.nominal:.3g} V and lets nothing through below {one.facts.dark_v:.3g} V: it"
        " stays"
        " dark.",
        f"Feed it from a supply of about {output.rated_v:g} V.",
        Quantity("gets", output.load_v.nominal, "V"),
        Quantity("needs", one.facts.dark_v, "V"),
    )


def _along(one: JudgedOutput) -> Iterator[Finding]:
    light, out = one.output.light, one.facts
    if out.tape is None or light.near <= 0 or not TOO_LONG <= light.evenness < EVEN:
        return
    if out.behaviour in ("led-string", "resistive"):
        remedy = more_feeds(out, EVEN) + "."
    else:
        remedy = "Feed it at more points."
    yield one.about(
        "light-falls-off",
        "warn",
        f"{one.name}: the darkest point of the tape keeps {100 * light.evenness:.0f} % of the brightest one's light.",
        remedy,
        Quantity("near", 100 * light.near, "% of rated"),
        Quantity("far", 100 * light.far, "% of rated"),
        Quantity("mean", 100 * light.mean, "% of rated"),
        formula="string_tape_far_light",
    )


def _when_empty(one: JudgedOutput) -> Iterator[Finding]:
    light, output = one.output.light, one.output
    supply = one.supply.supply
    if not one.supply.is_battery or supply is None or light.far <= 0:
        return
    share = light.far_when_empty / light.far
    if share >= DIM:
        return
    is_dark = share < DARK
    yield one.about(
        "dark-before-empty" if is_dark else "dims-before-empty",
        "warn",
        f"{one.name}: at {supply.label}'s cut-off, {one.supply.pack_v.empty:.3g} V, it keeps {100 * share:.0f} % of"
        " its light"
        f" at nominal voltage{': dark while the pack is not empty' if is_dark else ''}.",
        "Use a pack with a cell more, a converter behind it, or change packs earlier.",
        Quantity("gets when empty", output.far_v.empty, "V"),
        Quantity("light when empty", 100 * light.far_when_empty, "% of rated"),
    )


def _overdriven(one: JudgedOutput) -> Iterator[Finding]:
    output = one.output
    times = output.current.full / output.rated_a
    if times <= OVERDRIVEN or one.facts.behaviour == "constant-power":
        return
    yield one.about(
        "overdriven-when-full",
        "warn",
        f"{one.name}: on a full pack of {one.supply.pack_v.full:.3g} V it takes {output.current.full:.3g} A,"
        f" {times:.2f} times its rated {output.rated_a:.3g} A; leads, fuses and switches are judged by that.",
        f"Limit its level to {100 / times:.0f} % in the show, use a pack with a cell less or a converter behind it.",
        Quantity("full pack", one.supply.pack_v.full, "V"),
        Quantity("takes", output.current.full, "A"),
    )
