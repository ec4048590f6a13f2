"""Findings on switches, dimming, inrush and touch."""

from collections.abc import Iterator
from typing import Final

from showplan.physics.dimming import low_risk_modulation_percent
from showplan.physics.switches import largest_on_mohm
from showplan.planner.findings import Finding, Quantity
from showplan.planner.power.facts import air_c
from showplan.planner.power.heat import SKIN_LIMIT_C
from showplan.planner.power.words import Judged, JudgedOutput, about
from showplan.reference.limits import voltage_limits

VISIBLE_HZ: Final = 200.0  # below it some people see it, with eyes that move; from memory
ALL_ON_ALL_OFF: Final = 100.0  # % modulation of a switched load
CHOPPED_HZ: Final = (10.0, 200.0)  # NEC chapter 9 tables 11 note 4


def switch_findings(judged: Judged) -> Iterator[Finding]:
    """Switches, dimming, inrush and touch of every output."""
    for one in judged.outputs():
        yield from _drive(one)
        yield from _junction(one)
        yield from _limit(one)
        yield from _inrush(one)
        yield from _touch(one)
    for node in judged.power.nodes:
        if node.outputs:
            yield from _dimming(judged, node.node)
        rush = node.inrush
        if rush.borne_a2s is not None and rush.a2s > rush.borne_a2s:
            yield _rush(("node", node.node), f"The main fuse of {node.node}", rush.peak_a, rush.a2s, rush.borne_a2s)


def _drive(one: JudgedOutput) -> Iterator[Finding]:
    sort = one.node_type
    if one.output.switch.is_fully_on is not False:
        return
    if sort.switch_rated_drive_v is not None:
        needed, words = sort.switch_rated_drive_v, "its resistance is given for"
    else:
        needed, words = 2 * (sort.switch_threshold_v or 0.0), "twice its highest threshold is"
    yield about(
        ("node type", sort.name),
        "switch-not-fully-on",
        "stop",
        f"The switches of {sort.name} are driven with {sort.drive_v:g} V; {words} {needed:g} V: they are not fully on"
        " and"
        " get hotter than worked out here.",
        f"Drive them with {needed:g} V, or use a switch whose data sheet gives a resistance at {sort.drive_v:g} V or"
        " less.",
        Quantity("driven with", sort.drive_v or 0.0, "V"),
        Quantity("needs", needed, "V"),
        source="two data sheets of such switches",
    )


def _junction(one: JudgedOutput) -> Iterator[Finding]:
    switch, amps = one.output.switch, one.output.current.most
    if switch.junction_c is not None and switch.junction_c <= switch.limit_c:
        return
    most = largest_on_mohm(
        amps, one.facts.switch_k_per_w, air_c(one.kit, one.scene.venue.warmest_c), 1.0, switch.limit_c
    )
    remedy = f"Use a switch of at most {most:.3g} mohm at 25 °C, cool it, or share the load between outputs."
    quantities = (
        Quantity("current", amps, "A"),
        Quantity("resistance", switch.mohm_at_25_c, "mohm at 25 °C"),
        Quantity("junction to air", one.facts.switch_k_per_w, "K/W"),
    )
    if switch.junction_c is None:
        yield one.about(
            "switch-runs-away",
            "stop",
            f"The switch of {one.name} has no steady temperature at {amps:.3g} A: each kelvin adds more heat than it"
            " takes"
            " away.",
            remedy,
            *quantities,
            formula="junction_c",
        )
        return
    yield one.about(
        "switch-too-hot",
        "stop",
        f"The switch of {one.name} reaches {switch.junction_c:.0f} °C at {amps:.3g} A; {switch.limit_c:g} °C are"
        " allowed.",
        remedy,
        Quantity("junction", switch.junction_c, "°C"),
        *quantities,
        formula="junction_c",
    )


def _limit(one: JudgedOutput) -> Iterator[Finding]:
    limit_a, amps = one.node_type.output_limit_a, one.output.current.most
    if limit_a is None or amps <= limit_a:
        return
    yield one.about(
        "output-over-limit",
        "stop",
        f"{one.name} takes up to {amps:.3g} A; an output of {one.node_type.name} may give {limit_a:.3g} A.",
        f"Share it between {int(-(-amps // limit_a))} outputs, or dim it to {100 * limit_a / amps:.0f} % by a limit"
        " at the"
        " node.",
        Quantity("takes", amps, "A"),
        Quantity("limit", limit_a, "A"),
    )


def _dimming(judged: Judged, label: str) -> Iterator[Finding]:
    node = judged.scene.node(label)
    sort = judged.scene.node_type(node.node_type)
    hz = sort.dimming_hz
    if not hz:
        return
    low_risk = low_risk_modulation_percent(hz)
    if low_risk < ALL_ON_ALL_OFF:
        yield about(
            ("node type", sort.name),
            "dimming-flickers",
            "warn" if hz < VISIBLE_HZ else "note",
            f"{sort.name} dims at {hz:g} Hz, all on to all off: low risk there is up to {low_risk:.0f} % modulation.",
            "Dim at 1250 Hz or more: there 100 % are of low risk; cameras may ask for still more.",
            Quantity("dims at", hz, "Hz"),
            Quantity("low risk", low_risk, "% modulation"),
            formula="low_risk_modulation_percent",
            source="IEEE 1789-2015, from memory",
        )
    facts = next(one for one in judged.facts.nodes if one.node.label == label)
    volts = judged.facts.supplies[facts.supply].emf_v.full
    is_wet = judged.is_wet(node)
    rule = voltage_limits()["class-2-chopped-wet" if is_wet else "class-2-chopped"]
    most_v = rule.direct_v or 0.0
    if CHOPPED_HZ[0] <= hz <= CHOPPED_HZ[1] and volts > most_v:
        yield about(
            ("node", label),
            "chopped-voltage",
            "warn",
            f"{label} chops {volts:.3g} V at {hz:g} Hz; {'wet' if is_wet else 'dry'}, {most_v:g} V peak is the limit"
            " for"
            " direct current chopped at 10 to 200 Hz.",
            "Dim above 200 Hz, or at a lower voltage.",
            Quantity("peak", volts, "V"),
            Quantity("limit", most_v, "V"),
            source=rule.source,
        )


def _inrush(one: JudgedOutput) -> Iterator[Finding]:
    rush = one.output.inrush
    if rush.borne_a2s is not None and rush.a2s > rush.borne_a2s:
        yield _rush(("load", one.load.label), f"The fuse of {one.name}", rush.peak_a, rush.a2s, rush.borne_a2s)
    if one.load.inrush_uf > 0 and one.node_type.dimming_hz:
        yield one.about(
            "capacitors-dimmed",
            "warn",
            f"{one.name} has {one.load.inrush_uf:g} µF that charge anew {one.node_type.dimming_hz:g} times a second"
            " while it is"
            f" dimmed, up to {rush.peak_a:.3g} A each time.",
            "Switch it on and off only, or dim it by its own control input.",
            Quantity("peak", rush.peak_a, "A"),
            formula="capacitor_inrush_a",
        )


def _rush(subject: tuple[str, str], name: str, peak_a: float, a2s: float, borne_a2s: float) -> Finding:
    return about(
        subject,
        "inrush-wears-fuse",
        "warn",
        f"{name} takes {peak_a:.3g} A when it is switched on, {a2s:.3g} A²s; it bears {borne_a2s:.3g} A²s a hundred"
        " thousand times.",
        "Use a time-lag fuse or the next size that still protects the conductor, or limit the inrush.",
        Quantity("peak", peak_a, "A"),
        Quantity("inrush", a2s, "A²s"),
        Quantity("borne", borne_a2s, "A²s"),
        formula="capacitor_inrush_a2s",
        source="a fuse maker's share of the melting I²t for 100,000 pulses; the least of its class by its gates",
    )


def _touch(one: JudgedOutput) -> Iterator[Finding]:
    output = one.output
    if output.surface_c is None or output.surface_c <= SKIN_LIMIT_C:
        return
    warmest = one.scene.venue.warmest_c
    rise = output.surface_c - warmest
    level = output.most_level * max(SKIN_LIMIT_C - warmest, 0.0) / rise
    yield one.about(
        "hot-on-skin" if one.load.is_against_skin else "hot-in-costume",
        "warn" if one.load.is_against_skin else "note",
        f"{one.name} is worn: at a mean level of {100 * output.most_level:.0f} % its surface may reach"
        f" {output.surface_c:.0f} °C (a rough estimate); against skin for a scene or more {SKIN_LIMIT_C:g} °C is the"
        " limit.",
        f"Measure it with the costume closed; a mean level of {100 * level:.0f} % stays below, or put a layer between.",
        Quantity("surface", output.surface_c, "°C"),
        Quantity("limit", SKIN_LIMIT_C, "°C"),
        formula="tape_surface_high_c tape_power_allowed_w_per_m",
        source="ECMA-287 as quoted; ISO 13732-1 from memory",
    )
