"""Loss through walls by material and band."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

from showplan.reference.standing import OutsideTable, Standing
from showplan.reference.table import DATA_FOLDER, Row, read_table

LOWEST_MHZ: Final = 100.0  # MHz, our limit: the tabulated bands say nothing useful below it
HIGHEST_MHZ: Final = 6000.0  # MHz, our limit, as above
_COLUMNS: Final = ("key", "name", "frequency_mhz", "loss_db")


@dataclass(frozen=True, slots=True)
class BandLoss:
    """Loss of one crossing at normal incidence, at one tabulated frequency."""

    frequency_mhz: float
    loss_db: float
    note: str


@dataclass(frozen=True, slots=True)
class Material:
    """A wall material with its loss in each tabulated band (868, 915, 2440 MHz)."""

    key: str
    name: str
    source: str
    standing: Standing
    losses: tuple[BandLoss, ...]

    def band_loss(self, frequency_mhz: float) -> BandLoss:
        """The tabulated band nearest to `frequency_mhz` on a logarithmic scale, with its note.

        Raises OutsideTable outside 100 to 6000 MHz.
        """
        if not LOWEST_MHZ <= frequency_mhz <= HIGHEST_MHZ:
            raise OutsideTable(
                f"wall loss of '{self.key}' at {frequency_mhz:g} MHz: the table may be asked for "
                f"{LOWEST_MHZ:g} to {HIGHEST_MHZ:g} MHz"
            )
        return min(self.losses, key=lambda band: abs(math.log(frequency_mhz / band.frequency_mhz)))

    def loss_db(self, frequency_mhz: float) -> float:
        """Loss of one crossing in dB, from the nearest tabulated band (see `band_loss`)."""
        return self.band_loss(frequency_mhz).loss_db


def load_materials(path: Path) -> Mapping[str, Material]:
    """Materials of the table at `path` by key; raises ReferenceTableError."""
    found: dict[str, Material] = {}
    for row in read_table(path, _COLUMNS):
        band = BandLoss(row.number("frequency_mhz"), row.number("loss_db"), row.optional_text("note"))
        new = Material(row.text("key"), row.text("name"), row.text("source"), row.standing, (band,))
        found[new.key] = _joined(found[new.key], new, row) if new.key in found else new
    return MappingProxyType(found)


def _joined(known: Material, new: Material, row: Row) -> Material:
    for column in ("name", "source", "standing"):
        if getattr(known, column) != getattr(new, column):
            row.fail(column, f"differs from the earlier line of '{new.key}'")
    if new.losses[0].frequency_mhz in {band.frequency_mhz for band in known.losses}:
        row.fail("frequency_mhz", f"'{new.key}' already has this frequency")
    return Material(known.key, known.name, known.source, known.standing, known.losses + new.losses)


@cache
def materials() -> Mapping[str, Material]:
    """Every material by key, read once per process."""
    return load_materials(DATA_FOLDER / "materials.csv")
