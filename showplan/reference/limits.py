"""Limits of voltage, of touch and of flicker: what standards say, as far as it was read."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from showplan.reference.records import load_keyed, load_rows
from showplan.reference.standing import Standing, UnknownKey
from showplan.reference.table import DATA_FOLDER


@dataclass(frozen=True, slots=True)
class VoltageLimit:
    """Highest voltage, and power where one is limited; None where the text has none."""

    key: str
    name: str
    direct_v: float | None
    alternating_v: float | None
    most_w: float | None
    is_for_wet: bool
    source: str
    standing: Standing
    as_of: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class TouchLimit:
    """Surface temperature in °C that skin stands for `seconds` (None: without end) on a `surface`."""

    surface: str
    seconds: float | None
    surface_c: float
    source: str
    standing: Standing
    note: str = ""


@dataclass(frozen=True, slots=True)
class FlickerLimit:
    """Modulation in percent up to which flicker is of low risk: `percent_per_hz` times the frequency.

    From `from_hz` up to `to_hz` (None: without end).
    """

    level: str
    from_hz: float
    to_hz: float | None
    percent_per_hz: float | None
    source: str
    standing: Standing
    note: str = ""


@cache
def voltage_limits() -> Mapping[str, VoltageLimit]:
    """Every row by key, read once per process."""
    return load_keyed(DATA_FOLDER / "voltage_limits.csv", VoltageLimit)


@cache
def touch_limits() -> tuple[TouchLimit, ...]:
    """Every row, read once per process."""
    return load_rows(DATA_FOLDER / "touch_limits.csv", TouchLimit)


@cache
def flicker_limits() -> tuple[FlickerLimit, ...]:
    """Every row, read once per process."""
    return load_rows(DATA_FOLDER / "flicker_limits.csv", FlickerLimit)


def flicker_limit_percent(frequency_hz: float, level: str = "low risk") -> float:
    """Modulation in percent up to which flicker at this frequency passes, at most 100. Raises UnknownKey."""
    for row in flicker_limits():
        if row.level == level and row.from_hz <= frequency_hz and (row.to_hz is None or frequency_hz < row.to_hz):
            return 100.0 if row.percent_per_hz is None else min(100.0, row.percent_per_hz * frequency_hz)
    known = ", ".join(dict.fromkeys(row.level for row in flicker_limits()))
    raise UnknownKey(f"no flicker limit '{level}' at {frequency_hz:g} Hz; known: {known}, from 0 Hz on")
