"""Flexible copper wires: resistance, current, and what heat and bundling take of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from showplan.reference.records import load_keyed, load_rows
from showplan.reference.standing import OutsideTable, Standing
from showplan.reference.table import DATA_FOLDER

CORD_LIMIT_C: Final = 60.0  # °C, conductor temperature that the table's currents hold for


@dataclass(frozen=True, slots=True)
class Wire:
    """A class 5 (flexible) conductor of IEC 60228 and a two-core cord of such.

    `plain_ohm_per_km` and `tinned_ohm_per_km` are the most one conductor may have at 20 °C; `cord_a` the most direct
    current at 30 °C ambient, one cord by itself; `holds_kg` the mass that a twin cord may hold; `awg_below` and
    `awg_above` the gauges of the next smaller and larger area.
    """

    key: str
    area_mm2: float
    plain_ohm_per_km: float
    tinned_ohm_per_km: float
    cord_a: float
    holds_kg: float
    awg_below: int
    awg_above: int
    source: str
    standing: Standing
    note: str = ""


@dataclass(frozen=True, slots=True)
class AwgWire:
    """Published figures by American wire gauge; None where none was found.

    `stranded_ohm_per_kft` at 75 °C; `cord_a` for a two-core cord; `chassis_a` and `transmission_a` are workshop figures
    for a single wire in free air and for long bundled runs: for information only.
    """

    key: str
    awg: int
    stranded_ohm_per_kft: float | None
    cord_a: float | None
    chassis_a: float | None
    transmission_a: float | None
    source: str
    standing: Standing
    note: str = ""


@dataclass(frozen=True, slots=True)
class AmbientFactor:
    """Share of its current that a cord for 60 °C may carry at this ambient temperature."""

    ambient_c: float
    factor: float
    source: str
    standing: Standing
    note: str = ""


@dataclass(frozen=True, slots=True)
class GroupingFactor:
    """Share of its current that each of so many loaded cables in one bundle may carry."""

    cables: int
    factor: float
    source: str
    standing: Standing
    note: str = ""


@cache
def wires() -> Mapping[str, Wire]:
    """Every size by key, thinnest first, read once per process."""
    return load_keyed(DATA_FOLDER / "wires.csv", Wire)


@cache
def awg_wires() -> Mapping[str, AwgWire]:
    """Every gauge by key, thickest first, read once per process."""
    return load_keyed(DATA_FOLDER / "awg_wires.csv", AwgWire)


@cache
def ambient_factors() -> tuple[AmbientFactor, ...]:
    """Every row, coolest first, read once per process."""
    return load_rows(DATA_FOLDER / "ambient_factors.csv", AmbientFactor)


@cache
def grouping_factors() -> tuple[GroupingFactor, ...]:
    """Every row, fewest cables first, read once per process."""
    return load_rows(DATA_FOLDER / "grouping_factors.csv", GroupingFactor)


def wire_of(area_mm2: float) -> Wire:
    """The thickest wire of at most this area: a size between two counts as the thinner one.

    Raises OutsideTable below the thinnest and from twice the thickest on.
    """
    fitting = [wire for wire in wires().values() if wire.area_mm2 <= area_mm2 * (1 + 1e-9)]
    sizes = [wire.area_mm2 for wire in wires().values()]
    if not fitting or not area_mm2 < 2 * sizes[-1]:
        raise OutsideTable(f"a wire of {area_mm2:g} mm2: the table holds {sizes[0]:g} to {sizes[-1]:g} mm2")
    return fitting[-1]


def grouping_factor(cables: int) -> float:
    """Factor for so many loaded cables in one bundle; a number between two rows counts as the larger.

    Raises OutsideTable below 1 and beyond the last row.
    """
    rows = grouping_factors()
    fitting = [row.factor for row in rows if row.cables >= cables]
    if cables < 1 or not fitting:
        raise OutsideTable(f"a bundle of {cables} loaded cables: the table holds 1 to {rows[-1].cables}")
    return fitting[0]
