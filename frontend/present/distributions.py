"""How a node's packets are spread over their latency, as a small drawing with the quantiles and their intervals."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

WIDTH, HEIGHT, EDGE = 360.0, 150.0, 16.0
FLOOR = 84.0  # where the bars stand
LANE = 112.0  # where quantiles and intervals lie
TICKS_MS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)
NARROWEST = 34.0  # between the words of two ticks


@dataclass(frozen=True)
class Distribution:
    """Bars on a scale of doublings; below them the quantiles with their intervals, and the closed form's 95 %."""

    view_box: str
    bars: str
    quantiles: str
    intervals: str
    closed: str
    ticks: tuple[tuple[str, str], ...]
    says: str


def distribution_of(node: Mapping[str, Any], edges_ms: Sequence[float], closed_ms: float | None) -> Distribution | None:
    """The drawing of one node; `closed_ms` is the closed form's latency of 95 %. None where nothing arrived."""
    counts = node["histogram"]
    most = max(counts, default=0)
    if not most:
        return None
    estimates = [one for one in node["latency_ms"].values() if one["value"]]
    shown = [one["value"] for one in estimates] + ([closed_ms] if closed_ms else [])
    low, high = math.log(min(edges_ms[0], *shown)), math.log(max(edges_ms[-1], *shown))

    def x(value_ms: float) -> float:
        share = (math.log(max(value_ms, 1e-6)) - low) / max(high - low, 1e-9)
        return EDGE + min(max(share, 0.0), 1.0) * (WIDTH - 2 * EDGE)

    return Distribution(
        view_box=f"0 0 {WIDTH:g} {HEIGHT:g}",
        bars="".join(
            f"M{x(edges_ms[i]):.1f} {FLOOR:g}V{FLOOR - 74 * count / most:.1f}H{x(edges_ms[i + 1]):.1f}V{FLOOR:g}Z"
            for i, count in enumerate(counts)
            if count
        ),
        quantiles="".join(f"M{x(one['value']):.1f} {LANE - 12:g}v16" for one in estimates),
        intervals="".join(
            f"M{x(one['low']):.1f} {LANE - 4:g}H{x(one['high']):.1f}" for one in estimates if one["low"] is not None
        ),
        closed=_diamond(x(closed_ms), LANE - 4) if closed_ms else "",
        ticks=tuple(_ticks(low, high, x)),
        says=_says(node, closed_ms),
    )


def _diamond(x: float, y: float) -> str:
    return f"M{x:.1f} {y - 8:.1f}l7 8l-7 8l-7 -8Z"


def _ticks(low: float, high: float, x: Any) -> list[tuple[str, str]]:
    """Round times within the scale, as many as their words have room."""
    found: list[tuple[float, str]] = []
    for value in TICKS_MS:
        if low <= math.log(value) <= high and (not found or x(value) - found[-1][0] >= NARROWEST):
            found.append((x(value), f"{value:g}"))
    return [(f"{at:.1f}", words) for at, words in found]


def _says(node: Mapping[str, Any], closed_ms: float | None) -> str:
    told = [f"{share} % within {one['value']:.1f} ms" for share, one in node["latency_ms"].items() if one["value"]]
    closed = f"; closed form: 95 % within {closed_ms:.1f} ms" if closed_ms else ""
    return f"Latency of the packets to {node['node']}: {', '.join(told)}{closed}"
