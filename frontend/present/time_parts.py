"""Where each millisecond goes between feed and output, as a drawing: one row for each part, one after the other."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from frontend.present.words import milliseconds

WIDTH, NAMES, FIGURES = 1000.0, 250.0, 190.0  # of the sheet, of the names at its left, of the figures at its right
SPAN = WIDTH - NAMES - FIGURES
ROW, BAR, TOP, BOTTOM = 34.0, 18.0, 10.0, 46.0
PER_HOP = ("channel access", "air time", "further tries")
STEPS_MS = (0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
MOST_TICKS = 8


@dataclass(frozen=True)
class PartRow:
    """One part: `mean` is the solid bar, `longest` the outline behind it, `hops` lines that divide the bar."""

    name: str
    figures: str
    says: str
    text_y: str
    mean: tuple[str, str, str]
    longest: tuple[str, str, str]
    hops: str


@dataclass(frozen=True)
class TimePicture:
    """The way to the node that is served last; `marks` stand where 50, 95 and 99 % of the frames have arrived."""

    node: str
    hops: int
    view_box: str
    rows: tuple[PartRow, ...]
    ticks: tuple[tuple[str, str], ...]
    marks: str
    arrived: str
    marks_y: str
    axis_y: str
    says: str


def time_picture(network: Mapping[str, Any]) -> TimePicture | None:
    """The drawing of one network of `services.air`; None where nothing arrives."""
    timed = [node for node in network["nodes"] if node["latency"] and node["slots"]]
    if not timed:
        return None
    last = max(timed, key=lambda node: (node["latency"]["p95_ms"], node["label"]))
    parts = last["parts"]
    hops = 1 if network["traffic"]["relaying"] == "none" else last["hops"] or 1
    starts = [sum(part["mean_ms"] for part in parts[:index]) for index in range(len(parts))]
    ends = [start + part["longest_ms"] for start, part in zip(starts, parts, strict=True)]
    whole_ms = max(*ends, last["latency"]["p99_ms"])
    scale = SPAN / whole_ms
    rows = tuple(
        _row(part, start, scale, index, hops) for index, (part, start) in enumerate(zip(parts, starts, strict=True))
    )
    arrived_ms = [last["latency"][f"p{share}_ms"] for share in (50, 95, 99)]
    marks_y = TOP + len(parts) * ROW
    axis_y = marks_y + ROW
    return TimePicture(
        node=last["label"],
        hops=hops,
        view_box=f"0 0 {WIDTH:g} {axis_y + BOTTOM:g}",
        rows=rows,
        ticks=tuple((f"{NAMES + value * scale:.1f}", f"{value:g}") for value in _ticks(whole_ms)),
        marks="".join(_mark(NAMES + at_ms * scale, marks_y + ROW) for at_ms in arrived_ms),
        arrived=", ".join(f"{at_ms:.1f}" for at_ms in arrived_ms) + " ms",
        marks_y=f"{marks_y + ROW - 12:.1f}",
        axis_y=f"{axis_y:.1f}",
        says="; ".join(f"{row.name}: {row.figures}" for row in rows),
    )


def _mark(x: float, y: float) -> str:
    """A triangle that stands on the axis."""
    return f"M{x:.1f} {y:.1f}l-5 -14h10Z"


def _row(part: Mapping[str, Any], start_ms: float, scale: float, index: int, hops: int) -> PartRow:
    x, y = NAMES + start_ms * scale, TOP + index * ROW + (ROW - BAR) / 2
    name, mean_ms, longest_ms = part["name"], part["mean_ms"], part["longest_ms"]
    is_divided = hops > 1 and name in PER_HOP
    if is_divided:
        name = f"{name}, {hops} hops"
    figures = milliseconds(mean_ms)
    if longest_ms > mean_ms:
        figures += f", at most {longest_ms:.1f}"
    width, longest = max(mean_ms * scale, 1.0), max(longest_ms * scale, 1.0)
    lines = [x + width * hop / hops for hop in range(1, hops)] if is_divided else []
    return PartRow(
        name=name,
        figures=figures,
        says=f"{name}: {milliseconds(mean_ms)} as a mean, {milliseconds(longest_ms)} at the longest",
        text_y=f"{y + BAR - 4:.1f}",
        mean=(f"{x:.1f}", f"{y:.1f}", f"{width:.1f}"),
        longest=(f"{x:.1f}", f"{y:.1f}", f"{longest:.1f}"),
        hops="".join(f"M{line:.1f} {y:.1f}v{BAR:g}" for line in lines),
    )


def _ticks(whole_ms: float) -> Sequence[float]:
    step = next((one for one in STEPS_MS if whole_ms / one <= MOST_TICKS), STEPS_MS[-1])
    return [index * step for index in range(int(whole_ms // step) + 1)]
