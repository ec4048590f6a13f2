"""Every node of a network on its radio channel: load, delivery, latency, stale levels, buffer; in the order wanted."""

from collections.abc import Callable, Mapping
from typing import Any
from urllib.parse import urlencode

from frontend.present.choice import Option
from frontend.present.words import in_digits, number, percent
from showplan.services.errors import NotFound

LOSS_WORDS = {"hold": "holds its levels", "fade-out": "fades out", "switch-off": "switches off"}
FOREVER = float("inf")


def _worst(node: Mapping[str, Any]) -> tuple[Any, ...]:
    """Nodes that use slots first, those that miss most before."""
    stale_s = FOREVER if node["longest_stale_s"] is None else node["longest_stale_s"]
    return (not node["slots"], node["delivery"], -stale_s, -_p95(node), node["label"])


def _p95(node: Mapping[str, Any]) -> float:
    return float(node["latency"]["p95_ms"]) if node["latency"] else 0.0


ORDERS: dict[str, tuple[str, Callable[[Mapping[str, Any]], Any]]] = {
    "": ("worst first", _worst),
    "name": ("by name", lambda node: node["label"]),
    "load": ("fullest channel first", lambda node: (-node["channel_load"], node["label"])),
    "latency": ("latest first", lambda node: (bool(node["slots"]) is False, -_p95(node), node["label"])),
    "buffer": ("least buffer left first", lambda node: (node["buffer_headroom_octets"], node["label"])),
}


def node_order(order: str, keep: Mapping[str, str]) -> list[Option]:
    """The orders as links that keep the rest of the address. Raises NotFound for an unknown one."""
    if order not in ORDERS:
        raise NotFound(f"nodes cannot be put in the order {order!r}; known: {', '.join(filter(None, ORDERS))}")
    queries = {name: {**keep, **({"order": name} if name else {})} for name in ORDERS}
    return [Option(ORDERS[name][0], name, f"?{urlencode(query)}", name == order) for name, query in queries.items()]


def node_rows(network: Mapping[str, Any], order: str) -> list[dict[str, Any]]:
    """The rows of the table, sorted."""
    return [_row(node) for node in sorted(network["nodes"], key=ORDERS[order][1])]


def _row(node: Mapping[str, Any]) -> dict[str, Any]:
    latency = node["latency"]
    figure, says, state = stale_words(node) if node["slots"] else ("–", "", "")
    parts = {"own": node["sending_share"], "overheard": node["overheard_share"], "others": node["others_share"]}
    left = node["buffer_headroom_octets"]
    return {
        "label": node["label"],
        "role": node["role"],
        "slots": node["slots"],
        "load": percent(node["channel_load"]),
        "parts": ", ".join(f"{words} {percent(share)}" for words, share in parts.items()),
        "delivery": percent(node["delivery"]) if node["slots"] or node["role"] != "gateway" else "–",
        "latency": f"{latency['p50_ms']:.0f}, {latency['p95_ms']:.0f}, {latency['p99_ms']:.0f} ms" if latency else "–",
        "stale": figure,
        "stale_says": says,
        "state": state,
        "left": f"{number(round(left))} of {node['buffer_octets']}",
        "overflows": left < 0,
    }


def stale_words(node: Mapping[str, Any]) -> tuple[str, str, str]:
    """The longest time without a frame in an hour, what the node's outputs do then, and how grave that is."""
    behaviour = f"{LOSS_WORDS[node['on_signal_loss']]} after {number(node['signal_lost_after_s'])} s without a frame"
    if node["longest_stale_s"] is None:
        return "always", f"no frame arrives; {behaviour}", "stop"
    times = node["signal_losses_per_hour"]
    often = f"{times:.0f} times an hour" if times >= 1 else "less than once an hour"
    acts = times >= 1 and node["on_signal_loss"] != "hold"
    return f"{in_digits(node['longest_stale_s'], 2)} s", f"{behaviour}: {often}", "look" if acts else "ready"
