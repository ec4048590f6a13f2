"""Predicted against measured received power as a drawing: two shapes for two models, on a square sheet."""

from dataclasses import dataclass
from typing import Any

from frontend.present.words import dbm

SIDE, LEFT, BOTTOM, TOP, RIGHT = 520.0, 70.0, 62.0, 14.0, 26.0
SPAN = SIDE - LEFT - RIGHT
STEPS_DB = (1, 2, 5, 10, 20, 50)
MOST_TICKS = 7
ROUND, CROSS, RING = 5.0, 6.0, 11.0


@dataclass(frozen=True)
class Mark:
    """One reading under one model: path data, classes, tooltip."""

    path: str
    kind: str
    says: str


@dataclass(frozen=True)
class Tick:
    """A line of the grid with its words; `along` is its place on the x axis, `up` on the y axis."""

    along: str
    up: str
    words: str


@dataclass(frozen=True)
class Scatter:
    """Everything placed; both axes have the same scale, so that the diagonal is 'as predicted'."""

    view_box: str
    left: str
    right: str
    top: str
    bottom: str
    middle: str
    ticks: tuple[Tick, ...]
    marks: tuple[Mark, ...]


def scatter_of(outcomes: list[Any], outlier_names: set[str]) -> Scatter | None:
    """The drawing of readings that were received; None where there are none."""
    drawn = [one for one in outcomes if one.state == "used" and one.received_dbm is not None]
    if not drawn:
        return None
    values = [value for one in drawn for value in (one.received_dbm, one.before_dbm, one.after_dbm)]
    step = next((one for one in STEPS_DB if (max(values) - min(values)) / one < MOST_TICKS - 1), STEPS_DB[-1])
    low, high = step * (min(values) // step), step * -(-max(values) // step)
    high = max(high, low + step)

    def x(value_dbm: float) -> float:
        return LEFT + (value_dbm - low) / (high - low) * SPAN

    def y(value_dbm: float) -> float:
        return SIDE - BOTTOM + TOP - (value_dbm - low) / (high - low) * SPAN

    marks = []
    for one in drawn:
        at = x(one.received_dbm)
        words = f"{one.name}: measured {dbm(one.received_dbm)}"
        before, after = y(one.before_dbm), y(one.after_dbm)
        marks.append(Mark(_circle(at, before, ROUND), "spot present", f"{words}, present model {dbm(one.before_dbm)}"))
        if one.name in outlier_names:
            marks.append(Mark(_circle(at, after, RING), "spot outlier", f"{words}: stands out"))
        marks.append(Mark(_cross(at, after), "spot calibrated", f"{words}, calibrated model {dbm(one.after_dbm)}"))
    ticks = [low + index * step for index in range(round((high - low) / step) + 1)]
    return Scatter(
        view_box=f"0 0 {SIDE:g} {SIDE + TOP:g}",
        left=f"{LEFT:.1f}",
        right=f"{LEFT + SPAN:.1f}",
        top=f"{y(high):.1f}",
        bottom=f"{y(low):.1f}",
        middle=f"{LEFT + SPAN / 2:.1f}",
        ticks=tuple(Tick(f"{x(value):.1f}", f"{y(value):.1f}", f"{value:g}".replace("-", "−")) for value in ticks),
        marks=tuple(marks),
    )


def _circle(x: float, y: float, radius: float) -> str:
    return f"M{x - radius:.1f} {y:.1f}a{radius} {radius} 0 1 0 {2 * radius} 0a{radius} {radius} 0 1 0 {-2 * radius} 0Z"


def _cross(x: float, y: float) -> str:
    return (
        f"M{x - CROSS:.1f} {y - CROSS:.1f}L{x + CROSS:.1f} {y + CROSS:.1f}"
        f"M{x - CROSS:.1f} {y + CROSS:.1f}L{x + CROSS:.1f} {y - CROSS:.1f}"
    )
