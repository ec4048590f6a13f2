"""Carrying lithium batteries by air: a dated summary. The airline and the dangerous-goods rules decide."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from showplan.reference.records import load_keyed
from showplan.reference.standing import OutsideTable, Standing
from showplan.reference.table import DATA_FOLDER

_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class CarriageRule:
    """What passengers may carry of batteries above `over_wh` and up to `up_to_wh` (None: without end).

    Numbers are for one person, None where the rule has none. `device` and `spare` say where.
    """

    key: str
    name: str
    is_lithium: bool
    over_wh: float
    up_to_wh: float | None
    most_devices: int | None
    most_spares: int | None
    needs_approval: bool
    device: str
    spare: str
    source: str
    standing: Standing
    as_of: str = ""
    note: str = ""


@cache
def carriage_rules() -> Mapping[str, CarriageRule]:
    """Every rule by key, read once per process."""
    return load_keyed(DATA_FOLDER / "carriage_rules.csv", CarriageRule)


def carriage_rule(watt_hours: float, is_lithium: bool) -> CarriageRule:
    """The rule for a battery of this energy. Raises OutsideTable where there is none."""
    for rule in carriage_rules().values():
        above = watt_hours > rule.over_wh * (1 + _ROUNDING) or watt_hours == rule.over_wh == 0
        below = rule.up_to_wh is None or watt_hours <= rule.up_to_wh * (1 + _ROUNDING)
        if rule.is_lithium == is_lithium and above and below:
            return rule
    sort = "lithium battery" if is_lithium else "battery without lithium"
    raise OutsideTable(f"no rule for a {sort} of {watt_hours:g} Wh: ask the airline")
