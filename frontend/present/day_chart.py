"""How full the pack in use is through the show day, as a drawn line."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any

from frontend.present.words import counted, percent

WIDTH, LEFT, RIGHT, TOP, HEIGHT, BELOW = 1000.0, 64.0, 16.0, 26.0, 150.0, 66.0
LETTER, GAP, ROWS = 7.6, 10.0, 3  # width of a letter, about; drawing only
LEVELS = (0.0, 0.25, 0.5, 0.75, 1.0)


@dataclass(frozen=True)
class Mark:
    """Words at a place of the chart."""

    x: str
    y: str
    words: str
    anchor: str = "middle"


@dataclass(frozen=True)
class DayChart:
    """`line` is the level of the pack in use, `changes` where a fresh one goes in, `edges` where parts meet."""

    view_box: str
    line: str
    empty: str
    changes: tuple[str, ...]
    edges: tuple[str, ...]
    grid: tuple[tuple[str, str], ...]
    names: tuple[Mark, ...]
    levels: tuple[Mark, ...]
    left: str
    right: str
    says: str


def day_chart(supply: Any) -> DayChart | None:
    """The chart of a `SupplyPower`; None for one without a pack or without parts of a day."""
    parts = [one for one in supply.parts if one.left is not None]
    if not parts:
        return None
    ends = list(accumulate(one.minutes for one in parts))
    scale = (WIDTH - LEFT - RIGHT) / ends[-1]
    edges = [LEFT, *(LEFT + end * scale for end in ends)]
    steps = list(_steps(parts, edges))
    below = [x for x, part in zip(edges[1:], parts, strict=True) if part.left < 0]
    return DayChart(
        view_box=f"0 0 {WIDTH:g} {TOP + HEIGHT + BELOW:g}",
        line="".join(steps),
        empty="".join(f"M{x - 7:.1f} {_y(0) - 7:.1f}l14 14m0 -14l-14 14" for x in below),
        changes=tuple(f"{x:.1f}" for x, part in zip(edges, parts, strict=False) if part.is_changed),
        edges=tuple(f"{x:.1f}" for x in edges),
        grid=tuple((f"{_y(level):.1f}", f"{level:.0%}".replace("%", " %")) for level in LEVELS),
        names=tuple(_names(parts, edges)),
        levels=tuple(_levels(parts, edges)),
        left=f"{LEFT:.1f}",
        right=f"{WIDTH - RIGHT:.1f}",
        says=_in_words(supply.supply, parts),
    )


def _y(level: float) -> float:
    return TOP + (1 - min(max(level, 0.0), 1.0)) * HEIGHT


def _steps(parts: Sequence[Any], edges: Sequence[float]) -> Iterator[str]:
    """From full, or from where the last part left it; a fresh pack starts a line of its own."""
    level = 1.0
    for index, part in enumerate(parts):
        if part.is_changed:
            level = 1.0
        if index == 0 or part.is_changed:
            yield f"M{edges[index]:.1f} {_y(level):.1f}"
        yield f"L{edges[index + 1]:.1f} {_y(part.left):.1f}"
        level = part.left


def _names(parts: Sequence[Any], edges: Sequence[float]) -> Iterator[Mark]:
    """Each part's name under its time, in the first row that has room; left out where none has."""
    ends = [LEFT - GAP] * ROWS
    for index, part in enumerate(parts):
        half = len(part.part) * LETTER / 2
        middle = min(max((edges[index] + edges[index + 1]) / 2, LEFT + half), WIDTH - RIGHT - half)
        row = next((one for one, end in enumerate(ends) if end + GAP <= middle - half), None)
        if row is not None:
            ends[row] = middle + half
            yield Mark(f"{middle:.1f}", f"{TOP + HEIGHT + 20 + 18 * row:.1f}", part.part)


def _levels(parts: Sequence[Any], edges: Sequence[float]) -> Iterator[Mark]:
    """How full it is where it is lowest: before a change, before charging, and at the end."""
    for index, part in enumerate(parts):
        after = parts[index + 1] if index + 1 < len(parts) else None
        if after is None or after.is_changed or after.left > part.left:
            y = _y(part.left)
            below = y + 22 if y + 24 < TOP + HEIGHT else y - 26
            yield Mark(f"{edges[index + 1] - 6:.1f}", f"{below:.1f}", _level(part.left), "end")


def _level(left: float) -> str:
    return percent(left) if left >= 0 else "runs out"


def _in_words(supply: str, parts: Sequence[Any]) -> str:
    lowest = min(parts, key=lambda one: one.left)
    changes = counted(sum(one.is_changed for one in parts), "change")
    return f"Level of {supply} through the day: lowest {_level(lowest.left)} after {lowest.part}, {changes} of pack"
