"""Rows of a timeline as text, one a line (or parted by semicolons): time in s, slot, level, e.g. `12.5,3,255`."""

import math
import re
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

MOST_ROWS: Final = 10_000
LATEST_S: Final = 86_400.0  # a day
HIGHEST_SLOT: Final = 512 * 64
HIGHEST_LEVEL: Final = 255  # a slot value of ANSI E1.11 is one octet

_PARTED: Final = re.compile(r"[;\n]")
_NUMBER: Final = re.compile(r"\d{1,6}(\.\d{0,6})?", re.ASCII)
_WHOLE: Final = re.compile(r"\d{1,6}", re.ASCII)


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
    times_s: list[float] = []
    slots: list[int] = []
    levels: list[int] = []
    first: dict[tuple[float, int], int] = {}
    for number, line in enumerate(_PARTED.split(text), 1):
        if not line.strip():
            continue
        time_s, slot, level = _read(number, line)
        if len(times_s) == MOST_ROWS:
            raise RowFault(
                number, "count", f"is above {MOST_ROWS:,}: keep the rows that change a level, or split the show"
            )
        earlier = first.setdefault((time_s, slot), number)
        if earlier != number:
            raise RowFault(number, "slot", f"{slot} has a level at {time_s:g} s already, in row {earlier}")
        times_s.append(time_s)
        slots.append(slot)
        levels.append(level)
    order = np.lexsort((slots, times_s))
    time = np.array(times_s, dtype=np.float64)[order]
    return Rows(time, np.array(slots, dtype=np.int64)[order], np.array(levels, dtype=np.int64)[order])


def _read(number: int, line: str) -> tuple[float, int, int]:
    cells = [cell.strip() for cell in line.split(",")]
    if len(cells) != 3:
        raise RowFault(
            number, "cells", f"must be three, time in s, slot and level, such as 12.5,3,255; not {line[:40]!r}"
        )
    slot = _whole(number, "slot", cells[1], 1, HIGHEST_SLOT)
    return _time(number, cells[0]), slot, _whole(number, "level", cells[2], 0, HIGHEST_LEVEL)


def _time(number: int, cell: str) -> float:
    time_s = float(cell) if _NUMBER.fullmatch(cell) else math.nan
    if not 0 <= time_s <= LATEST_S:
        raise RowFault(number, "time_s", f"must be from 0 to {LATEST_S:g} s with a decimal point, not {cell[:20]!r}")
    return time_s


def _whole(number: int, column: str, cell: str, low: int, high: int) -> int:
    if not _WHOLE.fullmatch(cell) or not low <= int(cell) <= high:
        raise RowFault(number, column, f"must be a whole number from {low} to {high}, not {cell[:20]!r}")
    return int(cell)


def _shortest(time_s: float) -> str:
    return f"{time_s:.6f}".rstrip("0").rstrip(".")
