"""The page of the show's data: each network's rate and what holds it down, where the time goes, node by node."""

from collections.abc import Mapping, Sequence
from typing import Any

from frontend.present.air_nodes import node_order, node_rows, stale_words
from frontend.present.asked_jobs import Asking, earlier_jobs, progress_of
from frontend.present.choice import house_options
from frontend.present.findings import findings_by_question
from frontend.present.heading import heading
from frontend.present.simulations import simulation_of
from frontend.present.time_parts import time_picture
from frontend.present.words import STATE_SYMBOLS, counted, in_digits, milliseconds, number, percent, times_a_second
from showplan.records.models import Job
from showplan.services.air import air_in
from showplan.services.jobs.kinds.packet_simulation import NAME
from showplan.services.planning import PlannedVenue

QUESTION = "data-fits"
ASKING = Asking(
    kind=NAME,
    page="air",
    stem="simulation",
    noun="packet simulation",
    nothing_yet="Nothing was simulated for this venue yet.",
    cancel="Cancel, keep the replications done",
)
CUES_SHOWN = 5
LIMIT_WORDS = {
    "feed": "the feed",
    "gateway": "the gateway",
    "air": "the air",
    "duty": "the region's time limit",
    "buffer": "the gateway's buffer",
}


def air_page(planned: PlannedVenue, job: Job | None, house: str, order: str) -> dict[str, Any]:
    """The whole page but its form. Raises NotFound for an unknown state of the house or order of the nodes."""
    venue, plan = planned.venue, planned.plan
    found = air_in(planned, house)
    state = found["house"]
    about = {"job": str(job.pk)} if job else {}
    orders = node_order(order, {**about, **({"house": house} if house else {})})
    networks = [_network(one, order) for one in found["networks"]]
    return {
        **heading(venue, "air"),
        **progress_of(venue, ASKING, job, plan.fingerprint),
        "result": simulation_of(job, plan.fingerprint),
        "earlier": earlier_jobs(venue, ASKING, job),
        "houses": house_options(plan.states, state, {**about, **({"order": order} if order else {})}),
        "house": state,
        "networks": networks,
        "orders": orders,
        "questions": [one for one in findings_by_question(planned) if one["key"] == QUESTION],
        "assumptions": found["assumptions"],
        "fingerprint": plan.fingerprint,
        "planner_version": plan.planner_version,
    }


def _network(network: Mapping[str, Any], order: str) -> dict[str, Any]:
    served = [node for node in network["nodes"] if node["slots"]]
    return {
        "name": network["network"],
        "phy": network["phy"],
        "has_slots": bool(network["slots"]),
        "rows": _rows(network, served),
        "limits": [
            {
                "name": LIMIT_WORDS[limit["name"]],
                "rate": times_a_second(limit["hz"]),
                "reason": limit["reason"],
                "is_tightest": not index,
            }
            for index, limit in enumerate(network["limits"])
        ],
        "picture": time_picture(network),
        "nodes": node_rows(network, order),
    }


def _rows(network: Mapping[str, Any], served: Sequence[Mapping[str, Any]]) -> list[dict[str, str]]:
    """The figures of one network: what it is, the figure, and what it is to be held against."""
    rows = [
        _row(
            "refresh rate that fits",
            times_a_second(network["refresh_hz"]),
            f"{number(network['wanted_hz'])} a second wanted: {'fits' if network['fits'] else 'does not fit'}",
            "ready" if network["fits"] else "stop",
        ),
        _row("held down by", LIMIT_WORDS[network["limit"]["name"]], network["limit"]["reason"]),
        _row(
            "packets a frame",
            in_digits(network["packets"], 3),
            f"{counted(network['slots'], 'slot')}; a packet holds {counted(network['packet_levels'], 'level')}",
        ),
        _row(
            "air time of a frame",
            milliseconds(network["air_time_ms"]),
            f"all senders together; {milliseconds(network['cycle_ms'])} of the channel where most is heard, waits"
            " included",
        ),
        _use(network),
    ]
    rows += _of_timeline(network)
    rows += _of_nodes(served)
    rows += _of_senders(network["nodes"])
    return rows


def _row(name: str, figure: str, against: str, state: str = "") -> dict[str, str]:
    return {
        "name": name,
        "figure": figure,
        "against": against,
        "state": state,
        "symbol": STATE_SYMBOLS[state] if state else "",
    }


def _of_timeline(network: Mapping[str, Any]) -> list[dict[str, str]]:
    """How many levels change, where a timeline tells it."""
    load = network["timeline"]
    if load is None:
        return []
    changes = load["changes"]
    in_mean = (
        f"{percent(changes['mean'])} as a mean, {percent(changes['p95'])} in 95 % of the seconds; a frame then takes"
        f" {in_digits(load['mean_packets'], 3)} packets and {milliseconds(load['mean_air_time_ms'])}"
    )
    largest = ", ".join(
        f"{percent(cue['share'])} at {number(cue['at_s'])} s" for cue in changes["largest_cues"][:CUES_SHOWN]
    )
    return [
        _row(
            "levels that change",
            f"{percent(changes['peak'])} in the busiest second",
            f"timeline {load['timeline']}, at {number(changes['peak_at_s'])} s; every figure here is for it. {in_mean}",
        ),
        _row("cues", number(changes["cues"]), f"those that change most: {largest}" if largest else "nothing changes"),
    ]


def _use(network: Mapping[str, Any]) -> dict[str, str]:
    whole = f"{percent(network['channel_utilisation'])} with all our networks on this radio channel"
    if not network["estimate_is_valid"]:
        whole += "; losses by contention cannot be estimated above 45 %: simulate it"
    return _row(
        "radio channel in use",
        percent(network["utilisation"]),
        whole,
        "ready" if network["estimate_is_valid"] else "look",
    )


def _of_nodes(served: Sequence[Mapping[str, Any]]) -> list[dict[str, str]]:
    if not served:
        return []
    rows = []
    timed = [node for node in served if node["latency"]]
    if timed:
        last = max(timed, key=lambda node: (node["latency"]["p95_ms"], node["label"]))
        figures = ", ".join(f"{last['latency'][name]:.1f}" for name in ("p50_ms", "p95_ms", "p99_ms"))
        rows.append(_row("latency", f"{figures} ms", f"for 50, 95 and 99 % of the frames to {last['label']}, the last"))
    worst = min(served, key=lambda node: (node["delivery"], node["label"]))
    rows.append(_row("worst delivery", percent(worst["delivery"]), f"of the frames reach {worst['label']} whole"))
    stale = [node for node in served if node["longest_stale_s"] is not None]
    if stale:
        # What a node does when it hears nothing matters more than how long that lasts.
        longest = max(stale, key=lambda node: (node["longest_stale_s"] / node["signal_lost_after_s"], node["label"]))
        figure, says, state = stale_words(longest)
        rows.append(_row("longest stale, in an hour of show", figure, f"{longest['label']}: {says}", state))
    if dark := sorted(node["label"] for node in served if node["longest_stale_s"] is None):
        rows.append(_row("served by nobody", counted(len(dark), "node"), ", ".join(dark), "stop"))
    return rows


def _of_senders(nodes: Sequence[Mapping[str, Any]]) -> list[dict[str, str]]:
    rows = []
    senders = [node for node in nodes if node["packets_per_s"]]
    if senders:
        most = max(senders, key=lambda node: (node["sending_share"] / node["sending_limit"], node["label"]))
        is_limited = most["sending_limit"] < 1
        limit = f"the region allows {percent(most['sending_limit'])}" if is_limited else "the region sets no limit"
        over = most["sending_share"] > most["sending_limit"] * (1 + 1e-9)
        state = ("stop" if over else "ready") if is_limited else ""
        rows.append(_row("sends, of the time", percent(most["sending_share"]), f"{most['label']}: {limit}", state))
    if nodes:
        least = min(nodes, key=lambda node: (node["buffer_headroom_octets"], node["label"]))
        needed = f"{least['label']} needs {least['buffer_needed_octets']:.0f} of {least['buffer_octets']} octets"
        octets = f"{number(round(least['buffer_headroom_octets']))} octets"
        rows.append(
            _row("least buffer left", octets, needed, "ready" if least["buffer_headroom_octets"] >= 0 else "look")
        )
    return rows
