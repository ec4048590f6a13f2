"""Regions a tour plays in and whom to ask there."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from showplan.reference.standing import Standing
from showplan.reference.table import DATA_FOLDER, Row, by_key, read_table

_COLUMNS: Final = ("key", "name", "regulator")


@dataclass(frozen=True, slots=True)
class Region:
    """A region under one set of radio rules. The regulator decides, not this table."""

    key: str
    name: str
    regulator: str
    source: str
    standing: Standing
    as_of: str
    note: str


def load_regions(path: Path) -> Mapping[str, Region]:
    """Regions of the table at `path` by key; raises ReferenceTableError."""
    return by_key(read_table(path, _COLUMNS), _region)


def _region(row: Row) -> Region:
    return Region(
        key=row.text("key"),
        name=row.text("name"),
        regulator=row.text("regulator"),
        source=row.text("source"),
        standing=row.standing,
        as_of=row.as_of,
        note=row.optional_text("note"),
    )


@cache
def regions() -> Mapping[str, Region]:
    """Every region by key, read once per process."""
    return load_regions(DATA_FOLDER / "regions.csv")
