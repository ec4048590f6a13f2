"""Coefficients of indoor path loss by surroundings and band, with their ranges."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final, Literal, NoReturn, Protocol, TypeVar, get_args

from showplan.reference.standing import OutsideTable, Standing, UnknownKey
from showplan.reference.table import DATA_FOLDER, Row, by_key, read_table

Use = Literal["planning", "cross-check"]
_BAND: Final = ("environment", "low_mhz", "high_mhz", "edition")
_ABG_NUMBERS: Final = (
    "alpha",
    "beta_db",
    "gamma",
    "shadowing_sigma_db",
    "low_mhz",
    "high_mhz",
    "nearest_m",
    "furthest_m",
)


@dataclass(frozen=True, slots=True)
class PowerLoss:
    """Power loss coefficient N (dB per decade of distance) of ITU-R P.1238, older form."""

    environment: str
    low_mhz: float
    high_mhz: float
    edition: str
    power_loss_coefficient: float
    source: str
    standing: Standing
    note: str


@dataclass(frozen=True, slots=True)
class FloorLoss:
    """Floor term of ITU-R P.1238, older form: `losses_db` for 1, 2, ... floors; then so much for each further."""

    environment: str
    low_mhz: float
    high_mhz: float
    edition: str
    losses_db: tuple[float, ...]
    further_floor_db: float | None
    source: str
    standing: Standing
    note: str

    def loss_db(self, floors: int) -> float:
        """Loss in dB of this many floors, 0 for none; raises OutsideTable beyond the last published one."""
        listed = len(self.losses_db)
        if floors <= 0:
            return 0.0
        if floors <= listed:
            return self.losses_db[floors - 1]
        if self.further_floor_db is None:
            raise OutsideTable(f"floor loss of '{self.environment}' for {floors} floors: ask for 0 to {listed}")
        return self.losses_db[-1] + self.further_floor_db * (floors - listed)


@dataclass(frozen=True, slots=True)
class IndoorShadowing:
    """Standard deviation of shadowing in dB by surroundings."""

    environment: str
    low_mhz: float
    high_mhz: float
    edition: str
    shadowing_sigma_db: float
    source: str
    standing: Standing
    note: str


@dataclass(frozen=True, slots=True)
class AlphaBetaGamma:
    """One row of the alpha-beta-gamma form; `at_least` names the row whose loss is the lower limit."""

    key: str
    name: str
    alpha: float
    beta_db: float
    gamma: float
    shadowing_sigma_db: float
    low_mhz: float
    high_mhz: float
    nearest_m: float
    furthest_m: float
    at_least: str
    use: Use
    edition: str
    source: str
    standing: Standing
    note: str

    def outside(self, distance_m: float, frequency_mhz: float) -> tuple[str, ...]:
        """A sentence for each value outside the published ranges; empty inside them."""
        faults = []
        if not self.nearest_m <= distance_m <= self.furthest_m:
            faults.append(f"{distance_m:g} m is outside {self.nearest_m:g} to {self.furthest_m:g} m of '{self.key}'")
        if not self.low_mhz <= frequency_mhz <= self.high_mhz:
            faults.append(f"{frequency_mhz:g} MHz is outside {self.low_mhz:g} to {self.high_mhz:g} MHz of '{self.key}'")
        return tuple(faults)


class _Banded(Protocol):
    @property
    def environment(self) -> str: ...
    @property
    def low_mhz(self) -> float: ...
    @property
    def high_mhz(self) -> float: ...


BandedRow = TypeVar("BandedRow", bound=_Banded)


def load_power_losses(path: Path) -> tuple[PowerLoss, ...]:
    """Rows of the table at `path`; raises ReferenceTableError."""
    rows = read_table(path, (*_BAND, "power_loss_coefficient"))
    return tuple(
        PowerLoss(power_loss_coefficient=row.number("power_loss_coefficient"), **_band(row), **_origin(row))
        for row in rows
    )


def load_floor_losses(path: Path) -> tuple[FloorLoss, ...]:
    """Rows of the table at `path`; raises ReferenceTableError."""
    return tuple(
        FloorLoss(
            losses_db=row.numbers("losses_db"),
            further_floor_db=row.optional_number("further_floor_db"),
            **_band(row),
            **_origin(row),
        )
        for row in read_table(path, (*_BAND, "losses_db", "further_floor_db"))
    )


def load_indoor_shadowing(path: Path) -> tuple[IndoorShadowing, ...]:
    """Rows of the table at `path`; raises ReferenceTableError."""
    rows = read_table(path, (*_BAND, "shadowing_sigma_db"))
    return tuple(
        IndoorShadowing(shadowing_sigma_db=row.number("shadowing_sigma_db"), **_band(row), **_origin(row))
        for row in rows
    )


def load_alpha_beta_gamma(path: Path) -> Mapping[str, AlphaBetaGamma]:
    """Rows of the table at `path` by key; raises ReferenceTableError."""
    rows = read_table(path, ("key", "name", "at_least", "use", "edition", *_ABG_NUMBERS))
    keys = {row.text("key") for row in rows}
    return by_key(rows, lambda row: _alpha_beta_gamma(row, keys))


def _alpha_beta_gamma(row: Row, keys: set[str]) -> AlphaBetaGamma:
    at_least = row.optional_text("at_least")
    if at_least and at_least not in keys:
        row.fail("at_least", f"'{at_least}' is not a key of this table")
    return AlphaBetaGamma(
        key=row.text("key"),
        name=row.text("name"),
        at_least=at_least,
        use=row.choice("use", get_args(Use)),
        edition=row.text("edition"),
        **_origin(row),
        **_numbers(row),
    )


def _band(row: Row) -> dict[str, Any]:
    low, high = row.number("low_mhz"), row.number("high_mhz")
    if low >= high:
        row.fail("high_mhz", f"{high:g} must be above low_mhz {low:g}")
    return {
        "environment": row.text("environment"),
        "low_mhz": low,
        "high_mhz": high,
        "edition": row.text("edition"),
    }


def _origin(row: Row) -> dict[str, Any]:
    return {"source": row.text("source"), "standing": row.standing, "note": row.optional_text("note")}


def _numbers(row: Row) -> dict[str, Any]:
    return {column: row.number(column) for column in _ABG_NUMBERS}


@cache
def power_losses() -> tuple[PowerLoss, ...]:
    """Every row, read once per process."""
    return load_power_losses(DATA_FOLDER / "indoor_power_loss.csv")


@cache
def floor_losses() -> tuple[FloorLoss, ...]:
    """Every row, read once per process."""
    return load_floor_losses(DATA_FOLDER / "indoor_floor_loss.csv")


@cache
def indoor_shadowing() -> tuple[IndoorShadowing, ...]:
    """Every row, read once per process."""
    return load_indoor_shadowing(DATA_FOLDER / "indoor_shadowing.csv")


@cache
def alpha_beta_gamma() -> Mapping[str, AlphaBetaGamma]:
    """Every row by key, read once per process."""
    return load_alpha_beta_gamma(DATA_FOLDER / "indoor_alpha_beta_gamma.csv")


def power_loss(environment: str, frequency_mhz: float) -> PowerLoss:
    """The row that holds the frequency. Raises UnknownKey, or OutsideTable, which lists the bands."""
    return _covering(power_losses(), environment, frequency_mhz)


def floor_loss(environment: str, frequency_mhz: float) -> FloorLoss:
    """The row that holds the frequency. Raises UnknownKey, or OutsideTable, which lists the bands."""
    return _covering(floor_losses(), environment, frequency_mhz)


def _covering(rows: tuple[BandedRow, ...], environment: str, frequency_mhz: float) -> BandedRow:
    there = [row for row in rows if row.environment == environment]
    if not there:
        known = ", ".join(dict.fromkeys(row.environment for row in rows))
        raise UnknownKey(f"unknown environment '{environment}'; known: {known}")
    for row in there:
        if row.low_mhz <= frequency_mhz <= row.high_mhz:
            return row
    _no_band(there, environment, frequency_mhz)


def _no_band(rows: list[BandedRow], environment: str, frequency_mhz: float) -> NoReturn:
    bands = ", ".join(f"{row.low_mhz:g} to {row.high_mhz:g}" for row in rows)
    raise OutsideTable(f"'{environment}' at {frequency_mhz:g} MHz: the table holds {bands} MHz")
