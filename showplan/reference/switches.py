"""On-resistance of transistors by drive voltage: examples of what data sheets say."""

from dataclasses import dataclass
from functools import cache

from showplan.reference.records import load_rows
from showplan.reference.standing import Standing
from showplan.reference.table import DATA_FOLDER


@dataclass(frozen=True, slots=True)
class SwitchExample:
    """A row of a data sheet: resistance when on at a drive voltage, typical and largest, at 25 °C."""

    part: str
    drive_v: float
    typical_mohm: float
    largest_mohm: float
    threshold_v: float
    source: str
    standing: Standing
    note: str = ""


@cache
def switch_examples() -> tuple[SwitchExample, ...]:
    """Every row, read once per process."""
    return load_rows(DATA_FOLDER / "switch_examples.csv", SwitchExample)


def fully_on_mohm(part: str, drive_v: float) -> float | None:
    """Largest resistance of the row at or below the drive voltage; None where none is: not fully on."""
    rows = [row for row in switch_examples() if row.part == part and row.drive_v <= drive_v]
    return max(rows, key=lambda row: row.drive_v).largest_mohm if rows else None
