"""Assumed extra loss and spread through the audience, by band."""

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from showplan.reference.materials import HIGHEST_MHZ, LOWEST_MHZ
from showplan.reference.standing import OutsideTable, Standing, UnknownKey
from showplan.reference.table import DATA_FOLDER, Row, read_table

_COLUMNS: Final = ("key", "name", "low_mhz", "high_mhz", "loss_db", "shadowing_sigma_db")


@dataclass(frozen=True, slots=True)
class Crowd:
    """Extra loss in dB and extra standard deviation in dB of a path at head height, for one band."""

    key: str
    name: str
    low_mhz: float
    high_mhz: float
    loss_db: float
    shadowing_sigma_db: float
    source: str
    standing: Standing
    note: str

    def log_distance_to(self, frequency_mhz: float) -> float:
        """How far the frequency lies outside the band, as a natural logarithm; 0 inside it."""
        return max(0.0, math.log(self.low_mhz / frequency_mhz), math.log(frequency_mhz / self.high_mhz))


def load_crowds(path: Path) -> tuple[Crowd, ...]:
    """Rows of the table at `path`; raises ReferenceTableError."""
    return tuple(_crowd(row) for row in read_table(path, _COLUMNS))


def _crowd(row: Row) -> Crowd:
    return Crowd(
        key=row.text("key"),
        name=row.text("name"),
        low_mhz=row.number("low_mhz"),
        high_mhz=row.number("high_mhz"),
        loss_db=row.number("loss_db"),
        shadowing_sigma_db=row.number("shadowing_sigma_db"),
        source=row.text("source"),
        standing=row.standing,
        note=row.optional_text("note"),
    )


@cache
def crowds() -> tuple[Crowd, ...]:
    """Every row, read once per process."""
    return load_crowds(DATA_FOLDER / "crowd.csv")


def crowd(key: str, frequency_mhz: float) -> Crowd:
    """The row of the band nearest to the frequency on a logarithmic scale.

    Raises UnknownKey, which lists the keys; OutsideTable outside 100 to 6000 MHz.
    """
    if not LOWEST_MHZ <= frequency_mhz <= HIGHEST_MHZ:
        raise OutsideTable(f"crowd loss at {frequency_mhz:g} MHz: ask for {LOWEST_MHZ:g} to {HIGHEST_MHZ:g} MHz")
    rows = [row for row in crowds() if row.key == key]
    if not rows:
        raise UnknownKey(f"unknown crowd '{key}'; known: {', '.join(dict.fromkeys(row.key for row in crowds()))}")
    return min(rows, key=lambda row: row.log_distance_to(frequency_mhz))
