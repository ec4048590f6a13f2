"""Rows of a timeline as text, one a line (or parted by semicolons): time in s, slot, level, e.g. `12.5,3,255`."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

MOST_ROWS: Final = 10_000
LONGEST_TEXT: Final = 25 * MOST_ROWS  # of rows as 86400.000001,32768,255 and what parts them
LATEST_S: Final = 86_400.0  # a day
HIGHEST_SLOT: Final = 512 * 64
HIGHEST_LEVEL: Final = 255  # a slot value of ANSI E1.11 is one octet

_PARTED: Final = re.compile(r"[;\n]")
_NUMBER: Final = re.compile(r"\d{1,6}(\.\d{0,6})?", re.ASCII)
_WHOLE: Final = re.compile(r"\d{1,6}", re.ASCII)

Row = tuple[float, int, int]  # time in s, slot, level


class RowFault(ValueError):
    """Row `number` (from 1 on) is wrong in `column`; the text says what would be right."""

    def __init__(self, number: int, column: str, detail: str) -> None:
        super().__init__(f"row {number}: {column} {detail}")
        self.number, self.column, self.detail = number, column, detail


@dataclass(frozen=True)
class Rows:
    """n rows in order of time, then slot: `time_s` (n,) float, `slot` (n,) int, `level` (n,) int from 0 to 255."""

    time_s: NDArray[np.float64]
    slot: NDArray[np.int64]
    level: NDArray[np.int64]

    def as_text(self, parted_by: str = "\n") -> str:
        """The rows as `read_rows` takes them."""
        rows = zip(self.time_s.tolist(), self.slot.tolist(), self.level.tolist(), strict=True)
        return parted_by.join(f"{_shortest(time_s)},{slot},{level}" for time_s, slot, level in rows)


def read_rows(text: str) -> Rows:
    """The rows of a text, sorted by time; empty lines are passed over. Raises RowFault for the first wrong row.

    A slot may not have two levels at one time, and there are at most MOST_ROWS rows.
    """
    found: list[Row] = []
    first: dict[tuple[float, int], int] = {}
    for number, line in enumerate(_PARTED.split(text), 1):
        if not line.strip():
            continue
        cells = line.split(",")
        if len(cells) != 3:
            wanted = "time in s, slot and level, such as 12.5,3,255"
            raise RowFault(number, "cells", f"must be {wanted}; not {line[:40]!r}")
        row = read_row(number, *cells)
        if len(found) == MOST_ROWS:
            raise RowFault(number, "count", too_many())
        earlier = first.setdefault(row[:2], number)
        if earlier != number:
            raise RowFault(number, "slot", f"{repeated(row)}, in row {earlier}")
        found.append(row)
    return in_order(found)


def read_row(number: int, time_s: str, slot: str, level: str) -> Row:
    """One row from its three cells. Raises RowFault."""
    time_text = time_s.strip()
    time = float(time_text) if _NUMBER.fullmatch(time_text) else math.nan
    if not 0 <= time <= LATEST_S:
        limits = f"must be from 0 to {LATEST_S:g} s with a decimal point"
        raise RowFault(number, "time_s", f"{limits}, not {time_text[:20]!r}")
    return time, _whole(number, "slot", slot, 1, HIGHEST_SLOT), _whole(number, "level", level, 0, HIGHEST_LEVEL)


def in_order(rows: Sequence[Row]) -> Rows:
    """The rows as arrays, sorted by time, then slot."""
    columns = np.array(sorted(rows), dtype=np.float64).reshape(-1, 3)
    return Rows(columns[:, 0], columns[:, 1].astype(np.int64), columns[:, 2].astype(np.int64))


def too_many() -> str:
    """What is said of a row too many."""
    return f"is above {MOST_ROWS:,}: keep the rows that change a level, or split the show"


def repeated(row: Row) -> str:
    """What is said of a slot that has a level at that time already."""
    return f"{row[1]} has a level at {row[0]:g} s already"


def _whole(number: int, column: str, cell: str, low: int, high: int) -> int:
    text = cell.strip()
    if not _WHOLE.fullmatch(text) or not low <= int(text) <= high:
        raise RowFault(number, column, f"must be a whole number from {low} to {high}, not {text[:20]!r}")
    return int(text)


def _shortest(time_s: float) -> str:
    return f"{time_s:.6f}".rstrip("0").rstrip(".")
