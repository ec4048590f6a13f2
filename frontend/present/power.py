"""The power page of a venue: supplies through the show day, and every node from its supply to the far end."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.urls import reverse
from django.utils.http import urlencode

from frontend.present.day_chart import day_chart
from frontend.present.findings import finding_in_words
from frontend.present.heading import heading
from frontend.present.line_diagram import line_diagram
from frontend.present.projects import answer_cell
from frontend.present.words import SEVERITY_SYMBOLS, STATE_SYMBOLS, amperes, counted, number, percent, volts
from showplan.services.errors import NotFound
from showplan.services.planning import PlannedVenue

QUESTION = "power-lasts"
STATES = (("stop", "to fix"), ("warn", "to look at"), ("note", "noted"))


def power_page(planned: PlannedVenue, only: str = "") -> dict[str, Any]:
    """Everything the page shows; `only` names one node, alone on the page and on paper. Raises NotFound."""
    plan, power = planned.plan, planned.plan.analysis.power
    if only and only not in {node.node for node in power.nodes}:
        raise NotFound(f"no node {only!r} of this project feeds anything or has a supply")
    about = _by_subject(one for one in plan.findings if one.question == QUESTION)
    loads = {load.label: load for load in planned.scene.loads}
    nodes = [_node(planned, node, about, loads, is_alone=bool(only)) for node in power.nodes if only in ("", node.node)]
    shown = {node["supply"] for node in nodes} if only else None
    answer = next(one for one in plan.answers() if one.question.key == QUESTION)
    return {
        **heading(planned.venue, "power"),
        "answer": answer_cell(answer),
        "only": only,
        "nodes": sorted(nodes, key=lambda node: node["rank"]),
        "supplies": [_supply(one, about) for one in power.supplies if shown is None or one.supply in shown],
        "others": [] if only else _others(about),
        "warmest": f"{power.warmest_c:g} °C",
        "coldest": f"{power.coldest_c:g} °C",
        "all_address": reverse("power", args=[planned.venue.pk]),
        "fingerprint": plan.fingerprint,
        "planner_version": plan.planner_version,
    }


def _by_subject(findings: Iterable[Any]) -> dict[tuple[str, str], list[Any]]:
    found: dict[tuple[str, str], list[Any]] = defaultdict(list)
    for one in findings:
        found[one.subject.kind, one.subject.name].append(one)
    return found


def _others(about: Mapping[tuple[str, str], list[Any]]) -> list[dict[str, Any]]:
    """What is said of no single node, load or supply."""
    kinds = ("node", "load", "supply")
    return [finding_in_words(one) for (kind, _), found in about.items() if kind not in kinds for one in found]


def _node(
    planned: PlannedVenue,
    node: Any,
    about: Mapping[tuple[str, str], list[Any]],
    loads: Mapping[str, Any],
    *,
    is_alone: bool,
) -> dict[str, Any]:
    supply = planned.plan.analysis.power.supply_of(node)
    subjects = [("node", node.node), *(("load", one.load) for one in node.outputs)]
    subjects += [("supply", node.supply)] if node.supply else []
    findings = [one for subject in subjects for one in about.get(subject, [])]
    findings.sort(key=lambda one: one.rank)
    severities = [one.severity for one in findings]
    gravest = next((severity for severity, _ in STATES if severity in severities), "ready")
    state = {"stop": "stop", "warn": "look"}.get(gravest, "ready")
    return {
        "label": node.node,
        "supply": node.supply or "none entered",
        "state": state,
        "symbol": STATE_SYMBOLS[state],
        "in_words": _count_words(severities),
        "rank": (tuple(-severities.count(severity) for severity, _ in STATES[:2]), node.node),
        "is_open": is_alone or gravest == "stop",
        "address": f"{reverse('power', args=[planned.venue.pk])}?{urlencode({'node': node.node})}",
        "current": amperes(node.current.nominal),
        "worst": amperes(max(node.current.rated, node.current.full)),
        "standing": amperes(node.standing_a),
        "diagram": line_diagram(node, supply, loads),
        "outputs": [_output(one) for one in node.outputs],
        "chart": day_chart(supply) if supply else None,
        "findings": [finding_in_words(one) for one in findings],
        "assumed": _sentences([*node.assumed, *(supply.assumed if supply else ())]),
    }


def _count_words(severities: Sequence[str]) -> str:
    counts = [f"{severities.count(severity)} {words}" for severity, words in STATES if severity in severities]
    return ", ".join(counts) or "nothing to report"


def _sentences(assumed: Iterable[Any]) -> list[str]:
    return list(dict.fromkeys(one.in_words() for one in assumed))


def _output(output: Any) -> dict[str, Any]:
    switch, lead = output.switch, output.lead
    return {
        "number": output.output,
        "load": output.load,
        "behaviour": output.behaviour.replace("-", " "),
        "current": amperes(output.current.nominal),
        "worst_current": amperes(max(output.current.rated, output.current.full)),
        "drop": f"{volts(output.drop_v)}, {output.drop_percent:.1f} %",
        "light": f"{percent(output.light.near)} to {percent(output.light.far)}",
        "light_empty": percent(output.light.far_when_empty),
        "lead": f"{percent(lead.use)} of {amperes(lead.ampacity_a)}",
        "fuse": _fuse_words(lead),
        "switch": "heat runs away"
        if switch.junction_c is None
        else f"{switch.junction_c:.0f} of {switch.limit_c:.0f} °C",
        "points": [_point(one) for one in output.points],
    }


def _fuse_words(conductor: Any) -> str:
    own = f"{conductor.fuse_a:g} A" if conductor.fuse_a is not None else "none of its own"
    if conductor.largest_fuse_a is None:
        return own
    return f"{own}; at most {conductor.largest_fuse_a:g} A protects this lead"


def _point(point: Any) -> dict[str, str]:
    name = point.name if point.along_tape_m is None else f"tape at {point.along_tape_m:.2f} m"
    return {
        "name": name,
        "distance": f"{point.distance_m:.2f} m",
        "nominal": f"{volts(point.nominal_v)}, {amperes(point.nominal_a)}",
        "worst": f"{volts(point.rated_v)}, {amperes(point.rated_a)}",
    }


def _supply(supply: Any, about: Mapping[tuple[str, str], list[Any]]) -> dict[str, Any]:
    day = supply.day
    severities = [one.severity for one in about.get(("supply", supply.supply), [])]
    left = [part.left for part in supply.parts if part.left is not None]
    return {
        "label": supply.supply,
        "kind": supply.chemistry or supply.kind,
        "nodes": ", ".join(supply.nodes) or "nothing",
        "current": amperes(supply.current.most),
        "use": percent(supply.use) if supply.use is not None else "limit not known",
        "watt_hours": f"{number(round(supply.watt_hours, 1))} Wh" if supply.watt_hours is not None else "–",
        "hours": f"{day.hours_at_full:.1f} h" if day and day.hours_at_full is not None else "–",
        "packs": _packs_words(supply) if day else "–",
        "lowest": (percent(min(left)) if min(left) >= 0 else "runs out") if left else "–",
        "charging": _charging_words(day) if day else "–",
        "symbol": next((SEVERITY_SYMBOLS[one] for one, _ in STATES if one in severities), STATE_SYMBOLS["ready"]),
        "in_words": _count_words(severities),
    }


def _packs_words(supply: Any) -> str:
    day = supply.day
    if not supply.parts:
        return f"{counted(day.packs, 'pack')} there"
    return f"{day.packs_needed} needed, {day.packs} there, {counted(day.changes, 'change')}"


def _charging_words(day: Any) -> str:
    in_gaps = f", {counted(len(day.charging), 'pack')} charged in the gaps" if day.charging else ""
    night = "no charger" if day.overnight_h is None else f"all full {day.overnight_h:.1f} h after the day"
    return f"{day.charge_hours:.1f} h a pack{in_gaps}; {night}"
