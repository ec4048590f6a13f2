"""Where words stand on the drawing: beside their shape, and left out where every side is taken.

Sizes are estimates in the drawing's units: a server does not know the width of a letter.
"""

from collections.abc import Iterable
from dataclasses import dataclass

LETTER_WIDTH, LINE_HEIGHT = 0.56, 1.05
SIDES = ("right", "left", "below", "above")


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
    """Words with the left end of their base line."""

    x: str
    y: str
    words: str


def placed(wishes: Iterable[Wish], taken: Iterable[Box], sheet: Box) -> list[Text | None]:
    """A place for each wish, earlier ones first; None where no side is free of `taken`, earlier words and the edge."""
    boxes = list(taken)
    texts: list[Text | None] = []
    for wish in wishes:
        spots = (_box(wish, side) for side in wish.sides)
        free = next((spot for spot in spots if _fits(spot, boxes, sheet)), None)
        if free is None:
            texts.append(None)
            continue
        boxes.append(free)
        texts.append(Text(f"{free.left:.1f}", f"{free.bottom - 0.22 * wish.size:.1f}", wish.words))
    return texts


def around(x: float, y: float, size: float) -> Box:
    """The square a shape takes."""
    return Box(x - size, y - size, x + size, y + size)


def _fits(spot: Box, boxes: list[Box], sheet: Box) -> bool:
    inside = spot.left >= sheet.left and spot.right <= sheet.right and spot.top >= sheet.top
    return inside and spot.bottom <= sheet.bottom and not any(spot.meets(box) for box in boxes)


def _box(wish: Wish, side: str) -> Box:
    width, height = LETTER_WIDTH * wish.size * len(wish.words), LINE_HEIGHT * wish.size
    left = {"right": wish.x + wish.gap, "left": wish.x - wish.gap - width}.get(side, wish.x - width / 2)
    top = {"below": wish.y + wish.gap, "above": wish.y - wish.gap - height}.get(side, wish.y - height / 2)
    return Box(left, top, left + width, top + height)
