"""The legend: every class of a layer in words and numbers, with the share of the level it covers."""

import itertools
from dataclasses import dataclass
from typing import Any

from frontend.present.words import percent
from showplan.services.pictures import DELIVERY_CLASSES, MARGIN_CLASSES, Layer, class_shares, classes_of


@dataclass(frozen=True)
class LegendRow:
    """One class: its key, words, limits, colour and dash, and its share of the level where coverage is known."""

    key: str
    words: str
    limits: str
    colour: str
    dash: str
    share: str
    is_lowest: bool


def legend_rows(coverage: Any | None, layer: Layer = "margin") -> list[LegendRow]:
    """The classes of a layer, best first."""
    classes = classes_of(layer)
    shares = class_shares(coverage, layer) if coverage is not None else {}
    limits = _delivery_limits() if layer == "delivery" else _margin_limits()
    rows = [
        LegendRow(
            key=one.key,
            words=one.words,
            limits=within,
            colour=one.colour,
            dash=one.dash,
            share=percent(shares[one.key]) if shares else "",
            is_lowest=one is classes[0],
        )
        for one, within in zip(classes, limits, strict=True)
    ]
    return rows[::-1]


def _margin_limits() -> list[str]:
    return _limits([one.low_db for one in MARGIN_CLASSES if one.low_db is not None], "dB")


def _delivery_limits() -> list[str]:
    return _limits([100 * one.low for one in DELIVERY_CLASSES[1:]], "%")


def _limits(bounds: list[float], unit: str) -> list[str]:
    """Each class's range in words, lowest first; `bounds` are the lower ends of all but the lowest."""
    between = [f"{low:g} to {high:g} {unit}" for low, high in itertools.pairwise(bounds)]
    return [f"under {bounds[0]:g} {unit}", *between, f"{bounds[-1]:g} {unit} and more"]
