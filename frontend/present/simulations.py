"""What a packet simulation found, node by node, beside the closed form's figures of the same Scene."""

from collections.abc import Mapping, Sequence
from typing import Any

from frontend.editing.wording import moment, sentence
from frontend.present.distributions import distribution_of
from frontend.present.words import counted, number, percent
from showplan.records.models import Job
from showplan.services.jobs.kinds.packet_simulation import REASON_WORDS
from showplan.services.jobs.reading import result_in_words

SHARES = ("50", "95", "99")
PLACE_WORDS = {
    "inside": "inside",
    "above": "above",
    "below": "below",
    "no interval": "no interval to compare",
    "no figure": "no figure",
}
SYMBOLS = {"inside": "✓", "above": "▲", "below": "▼", "no interval": "·", "no figure": "·"}
TWICE = 2.0
CLASSES = {"inside": "ready", "above": "look", "below": "look", "no interval": "open", "no figure": "open"}


def simulation_of(job: Job | None, fingerprint_now: str) -> dict[str, Any] | None:
    """The result of a job in words, numbers and drawings; None until there is one."""
    if job is None or job.result is None:
        return None
    found = job.result
    compared = found.get("closed_form")
    nodes = sorted(found["nodes"], key=lambda node: (node["delivery"]["value"], node["node"]))
    return {
        "network": found["network"],
        "house": found["house"],
        "sentences": [sentence(words) for words in result_in_words(job)],
        "size": f"{counted(found['replications'], 'replication')} of {number(found['seconds'])} s of show,"
        f" seed {found['seed']}",
        "notes": [*found["notes"], *(compared["notes"] if compared else ())],
        "is_compared": compared is not None,
        "is_valid": compared is not None and compared["is_valid"],
        "closed_form_says": compared["in_words"] if compared else "",
        "nodes": [_node(node, found["all"]) for node in nodes],
        "senders": [_sender(one) for one in found.get("senders", ())],
        "is_older": job.scene_fingerprint != fingerprint_now,
        "is_cancelled": job.state == Job.State.CANCELLED,
        "asked": f"{moment(job.created_at)} by {job.started_by_name}",
        "fingerprint": job.scene_fingerprint,
        "planner_version": job.planner_version,
    }


def _node(node: Mapping[str, Any], whole: Mapping[str, Any]) -> dict[str, Any]:
    beside = node.get("closed_form")
    delivery = node["delivery"]
    lost = [f"{REASON_WORDS[name]} {number(count)}" for name, count in _most_first(node["losses"]) if count]
    figures = {share: beside["latency_ms"][share] if beside else None for share in SHARES}
    return {
        "label": node["node"],
        "packets": f"{number(node['delivered'])} of {number(node['offered'])}",
        "delivery": percent(delivery["value"]),
        "delivery_interval": _interval(delivery, percent),
        "closed_delivery": percent(beside["delivery"]) if beside else "",
        "delivery_is": _place(beside["delivery_is"], beside["delivery"], delivery["value"]) if beside else None,
        "latencies": [_latency(node, share, beside) for share in SHARES],
        "lost": ", ".join(lost) or "nothing",
        "picture": distribution_of(node, whole["histogram_edges_ms"], figures["95"]),
    }


def _latency(node: Mapping[str, Any], share: str, beside: Mapping[str, Any] | None) -> dict[str, Any]:
    estimate = node["latency_ms"][share]
    closed = beside["latency_ms"][share] if beside else None
    found = estimate["value"]
    return {
        "share": share,
        "value": "–" if found is None else f"{found:.1f} ms",
        "interval": _interval(estimate, lambda value: f"{value:.1f}"),
        "closed": "" if closed is None else f"{closed:.1f} ms",
        "is": _place(beside["latency_is"][share], closed, found) if beside and closed is not None else None,
    }


def _interval(estimate: Mapping[str, float | None], words: Any) -> str:
    """The bounds in words; neither a share nor a time is below nothing."""
    low, high = estimate["low"], estimate["high"]
    if low is None or high is None:
        return "one replication has no interval"
    return f"{words(max(low, 0.0))} to {words(high)}"


def _place(place: str, closed: float, found: float | None) -> dict[str, str]:
    """Where the closed form's figure lies, and how far off it is where it lies outside."""
    words = PLACE_WORDS[place]
    if place in ("above", "below") and found:
        ratio = closed / found
        words += f", {ratio:.1f} times as much" if ratio >= TWICE else f" by {percent(abs(ratio - 1))}"
    return {"words": words, "symbol": SYMBOLS[place], "state": CLASSES[place]}


def _most_first(losses: Mapping[str, int]) -> Sequence[tuple[str, int]]:
    return sorted(losses.items(), key=lambda item: -item[1])


def _sender(one: Mapping[str, Any]) -> dict[str, str]:
    return {
        "label": one["node"],
        "air": percent(one["air_share"]),
        "sent": number(one["sent"]),
        "busy": percent(one["found_busy_share"]),
        "no_access": number(one["no_access"]),
        "no_ack": number(one["no_ack"]),
    }
