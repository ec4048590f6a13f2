"""Loss of a worn node, by band and by how the body stands in the link."""

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final, Literal, get_args

from showplan.reference.materials import HIGHEST_MHZ, LOWEST_MHZ
from showplan.reference.standing import OutsideTable, Standing, UnknownKey
from showplan.reference.table import DATA_FOLDER, Row, read_table

Posture = Literal["facing", "side", "blocked"]
POSTURES: Final[tuple[Posture, ...]] = get_args(Posture)
_COLUMNS: Final = ("band_low_mhz", "band_high_mhz", "posture", "loss_db")


@dataclass(frozen=True, slots=True)
class BodyLoss:
    """Body loss in dB of one band and posture."""

    band_low_mhz: float
    band_high_mhz: float
    posture: Posture
    loss_db: float
    source: str
    standing: Standing
    note: str

    def log_distance_to(self, frequency_mhz: float) -> float:
        """How far the frequency lies outside the band, as a natural logarithm; 0 inside it."""
        return max(0.0, math.log(self.band_low_mhz / frequency_mhz), math.log(frequency_mhz / self.band_high_mhz))


def load_body_losses(path: Path) -> tuple[BodyLoss, ...]:
    """Rows of the table at `path`; raises ReferenceTableError."""
    return tuple(_body_loss(row) for row in read_table(path, _COLUMNS))


def _body_loss(row: Row) -> BodyLoss:
    return BodyLoss(
        band_low_mhz=row.number("band_low_mhz"),
        band_high_mhz=row.number("band_high_mhz"),
        posture=row.choice("posture", POSTURES),
        loss_db=row.number("loss_db"),
        source=row.text("source"),
        standing=row.standing,
        note=row.optional_text("note"),
    )


@cache
def body_losses() -> tuple[BodyLoss, ...]:
    """Every row, read once per process."""
    return load_body_losses(DATA_FOLDER / "body_loss.csv")


def body_loss_db(frequency_mhz: float, posture: str) -> float:
    """Body loss in dB from the band nearest to the frequency on a logarithmic scale.

    Raises UnknownKey for a posture other than facing, side, blocked; OutsideTable outside 100 to 6000 MHz.
    """
    if not LOWEST_MHZ <= frequency_mhz <= HIGHEST_MHZ:
        raise OutsideTable(f"body loss at {frequency_mhz:g} MHz: ask for {LOWEST_MHZ:g} to {HIGHEST_MHZ:g} MHz")
    rows = [row for row in body_losses() if row.posture == posture]
    if not rows:
        raise UnknownKey(f"unknown posture '{posture}'; known: {', '.join(POSTURES)}")
    return min(rows, key=lambda row: row.log_distance_to(frequency_mhz)).loss_db
