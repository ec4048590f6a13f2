"""A reference table as text: headed rows that end with source, date and standing."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from frontend.present.words import STANDING_WORDS

PROVENANCE = ("source", "date", "standing")


@dataclass(frozen=True)
class Table:
    """One table: a row's last three cells are its source, date and standing."""

    key: str
    title: str
    intro: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def headed(key: str, title: str, intro: str, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> Table:
    """A table of rows that end with their provenance."""
    return Table(key, title, intro, (*columns, *PROVENANCE), tuple(tuple(row) for row in rows))


def provenance(row: Any) -> tuple[str, str, str]:
    """The last three cells of a row."""
    note = f" ({row.note})" if getattr(row, "note", "") else ""
    return row.source + note, getattr(row, "as_of", "") or "–", STANDING_WORDS[row.standing]


def span(first: float, last: float) -> str:
    """A range; a single number where both ends are the same."""
    return f"{first:g}" if first == last else f"{first:g} to {last:g}"
