"""The legend: every margin class in words and numbers, with the share of the level it covers."""

from dataclasses import dataclass
from typing import Any

from showplan.services.pictures import MARGIN_CLASSES, class_shares


@dataclass(frozen=True)
class LegendRow:
    """One class: its key, words, limits, colour and dash, and its share of the level where coverage is known."""

    key: str
    words: str
    limits: str
    colour: str
    dash: str
    share: str


def legend_rows(coverage: Any | None) -> list[LegendRow]:
    """The classes, best first."""
    shares = class_shares(coverage) if coverage is not None else {}
    uppers = [*(one.low_db for one in MARGIN_CLASSES[1:]), None]
    rows = [
        LegendRow(
            one.key,
            one.words,
            _limits(one.low_db, upper_db),
            one.colour,
            one.dash,
            f"{100 * shares[one.key]:.0f} %" if shares else "",
        )
        for one, upper_db in zip(MARGIN_CLASSES, uppers, strict=True)
    ]
    return rows[::-1]


def _limits(low_db: float | None, upper_db: float | None) -> str:
    if low_db is None:
        return f"under {upper_db:g} dB"
    return f"{low_db:g} dB and more" if upper_db is None else f"{low_db:g} to {upper_db:g} dB"
