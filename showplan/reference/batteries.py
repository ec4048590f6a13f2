"""Batteries by chemistry: voltages, discharge, cold, charging; and packs that are common."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np

from showplan.reference.records import load_keyed, load_rows
from showplan.reference.standing import Standing, UnknownKey
from showplan.reference.table import DATA_FOLDER


@dataclass(frozen=True, slots=True)
class BatteryChemistry:
    """What cells of one chemistry have in common.

    Volts of a cell: nominal, where a discharge ends, fully charged. `peukert` is the exponent to plan with, between
    `peukert_low` and `peukert_high`; `ohm_per_cell` a usual internal resistance. A pack is planned with `health_share`
    of its capacity. `charge_factor`: charge put in over charge got out; `charge_per_h` a usual charging current over
    the capacity. Temperatures in °C at which it may be charged and discharged.
    """

    key: str
    name: str
    is_lithium: bool
    nominal_v: float
    cut_off_v: float
    full_v: float
    peukert: float
    peukert_low: float
    peukert_high: float
    ohm_per_cell: float
    health_share: float
    charge_factor: float
    charge_per_h: float
    charge_from_c: float
    charge_to_c: float
    discharge_from_c: float
    discharge_to_c: float
    source: str
    standing: Standing
    note: str = ""


@dataclass(frozen=True, slots=True)
class BatteryTemperature:
    """Share of its capacity at 25 °C that a chemistry has at a temperature, by one `series` of figures."""

    chemistry: str
    series: str
    battery_c: float
    share: float
    source: str
    standing: Standing
    note: str = ""


@dataclass(frozen=True, slots=True)
class BatteryPreset:
    """A common pack: `cells` in series, capacity at a discharge over `rated_hours`."""

    key: str
    name: str
    chemistry: str
    cells: int
    nominal_v: float
    capacity_ah: float
    rated_hours: float
    internal_resistance_ohm: float
    source: str
    standing: Standing
    note: str = ""


@cache
def battery_chemistries() -> Mapping[str, BatteryChemistry]:
    """Every chemistry by key, read once per process."""
    return load_keyed(DATA_FOLDER / "battery_chemistries.csv", BatteryChemistry)


@cache
def battery_temperatures() -> tuple[BatteryTemperature, ...]:
    """Every row, each series from cold to warm, read once per process."""
    return load_rows(DATA_FOLDER / "battery_temperatures.csv", BatteryTemperature)


@cache
def battery_presets() -> Mapping[str, BatteryPreset]:
    """Every pack by key, read once per process."""
    return load_keyed(DATA_FOLDER / "battery_presets.csv", BatteryPreset)


def capacity_share(chemistry: str, battery_c: float) -> float:
    """Share of its capacity that a battery has at a temperature: the lowest of the series, 0 to 1.

    Between two rows a straight line; colder than the coldest row the line through the two coldest goes on. Raises
    UnknownKey for a chemistry without rows, which lists those there are.
    """
    series: dict[str, list[BatteryTemperature]] = {}
    for row in battery_temperatures():
        if row.chemistry == chemistry:
            series.setdefault(row.series, []).append(row)
    if not series:
        known = ", ".join(dict.fromkeys(row.chemistry for row in battery_temperatures()))
        raise UnknownKey(f"unknown chemistry '{chemistry}'; known: {known}")
    return min(1.0, max(0.0, min(_on_line(rows, battery_c) for rows in series.values())))


def _on_line(rows: list[BatteryTemperature], battery_c: float) -> float:
    coldest, next_one = rows[0], rows[1]
    if battery_c < coldest.battery_c:
        slope = (next_one.share - coldest.share) / (next_one.battery_c - coldest.battery_c)
        return coldest.share + slope * (battery_c - coldest.battery_c)
    return float(np.interp(battery_c, [row.battery_c for row in rows], [row.share for row in rows]))
