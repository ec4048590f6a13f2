"""Where words stand on the drawing: beside their shape, off the lines, and left out where every side is taken.

Sizes are estimates in the drawing's units: a server does not know the width of a letter.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import hypot

LETTER_WIDTH, LINE_HEIGHT = 0.56, 1.05
SIDES = ("right", "left", "below", "above")
CORNERS = ("above right", "above left", "below right", "below left")
CORNER_GAP = 0.7  # share of the gap that a corner is away, across and along
Line = tuple[float, float, float, float]  # from x, y to x, y


@dataclass(frozen=True)
class Box:
    """A rectangle, y down."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "Box") -> bool:
        """Whether the two share any area."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )


@dataclass(frozen=True)
class Wish:
    """Words that want to stand beside the point (x, y), `gap` away from it."""

    words: str
    x: float
    y: float
    gap: float
    size: float
    sides: tuple[str, ...] = SIDES


@dataclass(frozen=True)
class Text:
    """Words with a point of their base line: its `anchor` is start, middle or end."""

    x: str
    y: str
    words: str
    anchor: str = "start"


def placed(wishes: Iterable[Wish], taken: Iterable[Box], sheet: Box, lines: Sequence[Line] = ()) -> list[Text | None]:
    """A place for each wish, earlier ones first; None where no side is free of `taken`, earlier words and the edge.

    Of the free sides the first that covers least of the lines.
    """
    boxes = list(taken)
    texts: list[Text | None] = []
    for wish in wishes:
        spots = {side: spot for side in wish.sides if _fits(spot := _box(wish, side), boxes, sheet)}
        free = min(spots, key=lambda side: round(sum(_covered(line, spots[side]) for line in lines)), default=None)
        if free is None:
            texts.append(None)
            continue
        boxes.append(spots[free])
        texts.append(_text(wish, free, spots[free]))
    return texts


def _text(wish: Wish, side: str, spot: Box) -> Text:
    """The words held at the end next to their point, so that narrow letters leave no gap there."""
    anchor = "start" if side.endswith("right") else "end" if side.endswith("left") else "middle"
    x = {"start": spot.left, "middle": wish.x, "end": spot.right}[anchor]
    return Text(f"{x:.1f}", f"{spot.bottom - 0.22 * wish.size:.1f}", wish.words, anchor)


def around(x: float, y: float, size: float) -> Box:
    """The square a shape takes."""
    return Box(x - size, y - size, x + size, y + size)


def _fits(spot: Box, boxes: list[Box], sheet: Box) -> bool:
    inside = spot.left >= sheet.left and spot.right <= sheet.right and spot.top >= sheet.top
    return inside and spot.bottom <= sheet.bottom and not any(spot.meets(box) for box in boxes)


def _covered(line: Line, box: Box) -> float:
    """The length of a line that lies in a box."""
    x1, y1, x2, y2 = line
    first, last = 0.0, 1.0
    for start, way, least, most in ((x1, x2 - x1, box.left, box.right), (y1, y2 - y1, box.top, box.bottom)):
        if way == 0:
            if not least < start < most:
                return 0.0
            continue
        enters, leaves = sorted(((least - start) / way, (most - start) / way))
        first, last = max(first, enters), min(last, leaves)
    return max(last - first, 0.0) * hypot(x2 - x1, y2 - y1)


def _box(wish: Wish, side: str) -> Box:
    width, height = LETTER_WIDTH * wish.size * len(wish.words), LINE_HEIGHT * wish.size
    if side in CORNERS:
        gap = CORNER_GAP * wish.gap
        left = wish.x + gap if side.endswith("right") else wish.x - gap - width
        top = wish.y - gap - height if side.startswith("above") else wish.y + gap
        return Box(left, top, left + width, top + height)
    left = {"right": wish.x + wish.gap, "left": wish.x - wish.gap - width}.get(side, wish.x - width / 2)
    top = {"below": wish.y + wish.gap, "above": wish.y - wish.gap - height}.get(side, wish.y - height / 2)
    return Box(left, top, left + width, top + height)
