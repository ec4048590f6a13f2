"""What outputs commonly feed."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal

from showplan.reference.records import load_keyed
from showplan.reference.standing import Standing
from showplan.reference.table import DATA_FOLDER

LoadKind = Literal["tape", "lamp", "fan", "other"]
Behaviour = Literal["constant-current", "resistive", "constant-power", "led-string"]


@dataclass(frozen=True, slots=True)
class LoadPreset:
    """A common load; what is None does not apply or must be entered.

    `rated_w` of a lamp or fan, `w_per_m` of tape with everything on; below `dropout_v` no current flows;
    `tape_ohm_per_m` there and back; a cold lamp takes `cold_inrush_times` its current.
    """

    key: str
    name: str
    kind: LoadKind
    behaviour: Behaviour
    rated_v: float
    rated_w: float | None
    w_per_m: float | None
    dropout_v: float | None
    tape_ohm_per_m: float | None
    cold_inrush_times: float | None
    source: str
    standing: Standing
    note: str = ""


@cache
def load_presets() -> Mapping[str, LoadPreset]:
    """Every load by key, read once per process."""
    return load_keyed(DATA_FOLDER / "load_presets.csv", LoadPreset)
