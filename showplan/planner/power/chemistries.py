"""What the tables say of a pack or a load by the words that a crew entered: chemistry and preset."""

from collections.abc import Mapping
from functools import cache
from typing import Final

from showplan.reference.batteries import (
    BatteryChemistry,
    BatteryPreset,
    battery_chemistries,
    battery_presets,
    capacity_share,
)
from showplan.reference.loads import LoadPreset, load_presets

PACK_OHM_PER_V: Final = 0.004  # of a pack of unknown chemistry; from memory
PEUKERT: Final = "lead-acid"  # the chemistry whose discharge goes by Peukert's law; others by charge
USUAL_HOURS: Final = {"lead-acid": 20.0}  # of a rated capacity, where none are given
OTHER_HOURS: Final = 5.0


@cache
def chemistry_of(words: str) -> BatteryChemistry | None:
    """The chemistry that is meant, by its key or name in any spelling; None where no table knows it."""
    wanted = _plain(words)
    known = battery_chemistries().values()
    return next(
        (one for one in known if wanted in (_plain(one.key), _plain(one.name), _plain(one.name.split(",")[0]))), None
    )


def _plain(words: str) -> str:
    return "".join(letter for letter in words.lower() if letter.isalnum())


def battery_preset(key: str) -> BatteryPreset | None:
    """The common pack of that key."""
    return battery_presets().get(key)


def load_preset(key: str) -> LoadPreset | None:
    """The common load of that key."""
    return load_presets().get(key)


@cache
def preset_values(key: str) -> Mapping[str, tuple[float, str]]:
    """Field to (value, source) of what a preset knows, of packs or loads; nothing for an unknown one."""
    preset = battery_preset(key) or load_preset(key)
    if preset is None:
        return {}
    source = f"preset {preset.name}" + (", from memory" if preset.standing == "memory" else "")
    fields = (
        ("internal_resistance_ohm", "capacity_ah", "rated_hours")
        if isinstance(preset, BatteryPreset)
        else ("dropout_v", "tape_ohm_per_m", "cold_inrush_times")
    )
    values = ((field, getattr(preset, field)) for field in fields)
    return {field: (float(value), source) for field, value in values if value is not None}


@cache
def cold_share(chemistry: BatteryChemistry | None, battery_c: float) -> float:
    """Share of its capacity that a pack has at a temperature; of an unknown chemistry the least of all."""
    keys = [chemistry.key] if chemistry else list(battery_chemistries())
    return min(capacity_share(key, battery_c) for key in keys)


def exponent_of(chemistry: BatteryChemistry | None) -> float:
    """Peukert's exponent for lead-acid; 1 for others, which are planned by charge alone."""
    return chemistry.peukert if chemistry is not None and chemistry.key == PEUKERT else 1.0


def rated_hours_of(chemistry: BatteryChemistry | None) -> float:
    """The discharge that a capacity usually holds for."""
    return USUAL_HOURS.get(chemistry.key, OTHER_HOURS) if chemistry is not None else OTHER_HOURS
