"""INTERIM"""

from collections.abc import Mapping
from dataclasses import dataclass

PACK_OHM_PER_V = 0.004
SLOWEST_CHARGE_FACTOR = 1.4
SLOWEST_CHARGE_RATE = 0.1


@dataclass(frozen=True)
class Chemistry:
    key: str
    name: str
    nominal_v: float
    cut_off_v: float
    full_v: float
    ohm_per_cell: float
    is_lithium: bool
    peukert: float
    charge_factor: float
    charge_c_rate: float


_CHEM = {
    c.key: c
    for c in (
        Chemistry("nimh", "NiMH", 1.2, 1.0, 1.45, 0.02, False, 1.0, 1.4, 0.1),
        Chemistry("li-ion", "Li-ion", 3.6, 3.0, 4.2, 0.03, True, 1.0, 1.15, 0.5),
        Chemistry("lifepo4", "LiFePO4", 3.2, 2.5, 3.65, 0.01, True, 1.0, 1.15, 0.5),
        Chemistry("lead-acid", "lead-acid", 2.0, 1.75, 2.4, 0.005, False, 1.2, 1.2, 0.1),
    )
}


def chemistry_of(key: str) -> Chemistry | None:
    return _CHEM.get(key)


def preset_values(key: str) -> Mapping[str, tuple[float, str]]:
    return {}


def capacity_factor(chemistry: Chemistry | None, celsius: float) -> float:
    return 0.8 if celsius < 10 else 1.0


def peukert_hours(amps: float, ah: float, hours: float, k: float) -> float:
    if amps <= ah / hours:
        return ah / amps
    return hours * (ah / (amps * hours)) ** k


def tape_rise_k(watts_per_m: float) -> float:
    return 0.7 * watts_per_m / (10 * 0.010)


@dataclass(frozen=True)
class Rule:
    code: str
    severity: str
    sentence: str
    needs_approval: bool


def carriage(chem: Chemistry | None, wh: float, v: float) -> Rule:
    if wh <= 100:
        return Rule("pack-flies", "note", "in the cabin, at most 20 spares.", False)
    if wh <= 160:
        return Rule("pack-needs-approval", "warn", "needs the operator's approval, at most two spares.", True)
    return Rule("pack-is-cargo", "stop", "cargo only.", True)
