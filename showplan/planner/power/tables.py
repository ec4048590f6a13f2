"""INTERIM"""

from dataclasses import dataclass
from collections.abc import Mapping
from functools import lru_cache

MEMORY = "from memory"
PACK_OHM_PER_V = 0.004
_OHM = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95}
_AMP = {0.5: 3, 0.75: 6, 1.0: 10, 1.5: 16, 2.5: 25, 4.0: 32}
AREAS_MM2 = tuple(_OHM)


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


def chemistry(key: str) -> Chemistry | None:
    return _CHEM.get(key)


def preset_values(key: str) -> Mapping[str, tuple[float, str]]:
    return {}


@lru_cache(maxsize=4096)
def loop_ohm_per_m(area_mm2: float, celsius: float) -> float:
    per_km = _OHM.get(area_mm2) or 1000 / 58 / area_mm2 * 1.157
    return 2 * per_km / 1000 * (1 + 0.00393 * (celsius - 20))


def cord_ampacity_a(area_mm2: float) -> float:
    fit = [a for s, a in _AMP.items() if s <= area_mm2 + 1e-9]
    return float(max(fit)) if fit else 3.0 * area_mm2 / 0.5


def ambient_factor(celsius: float) -> float:
    return max((60 - max(celsius, 30.0)) / 30, 0.0) ** 0.5


def grouping_factor(circuits: int) -> float:
    return [1.0, 0.8, 0.7, 0.65, 0.6, 0.57][min(circuits, 6) - 1]


@dataclass(frozen=True)
class FuseSeries:
    key: str
    sizes_a: tuple[float, ...]
    continuous_share: float
    conventional_factor: float
    usual_v: float

    @property
    def name(self):
        return self.key

    @property
    def source(self):
        return "x"

    def breaking_a(self, fuse_a: float) -> float:
        return 1000.0 if self.key == "blade" else max(35.0, 10 * fuse_a)

    def borne_a2s(self, fuse_a: float) -> float:
        return {"blade": 0.72, "ul": 0.16, "iec-quick": 0.16, "iec-time-lag": 2.4}[self.key] * fuse_a**2


_R10 = (1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10)
_SER = {
    "blade": FuseSeries("blade", (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30), 0.75, 1.35, 32),
    "ul": FuseSeries("ul", (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30), 0.75, 1.35, 32),
    "iec-quick": FuseSeries("iec-quick", _R10, 1.0, 2.1, 250),
    "iec-time-lag": FuseSeries("iec-time-lag", _R10, 1.0, 2.1, 250),
}


def fuse_series(key: str) -> FuseSeries:
    return _SER[key]


SLOWEST_CHARGE_FACTOR = 1.4
SLOWEST_CHARGE_RATE = 0.1


def capacity_factor(chemistry, celsius):
    return 0.8 if celsius < 10 else 1.0


def peukert_hours(amps, ah, hours, k):
    if amps <= ah / hours:
        return ah / amps
    return hours * (ah / (amps * hours)) ** k


def switching_loss_w(volts, amps, edges_us, hz, is_soft):
    return (1 / 6 if is_soft else 0.5) * volts * amps * edges_us * 1e-6 * hz


def junction_c(amps, ohm, k_per_w, air_c, extra_w):
    k = k_per_w * amps**2 * ohm
    if k * 0.0075 >= 1:
        return None
    return (air_c + k_per_w * extra_w + k * (1 - 25 * 0.0075)) / (1 - k * 0.0075)


def hot_mohm(mohm, celsius):
    return mohm * (1 + 0.0075 * (celsius - 25))


def tape_rise_k(watts_per_m):
    return 0.7 * watts_per_m / (10 * 0.010)


def capacitor_a2s(volts, uf, ohm):
    return uf * 1e-6 * volts**2 / (2 * ohm)


def exponential_a2s(peak, tau):
    return 0.5 * peak**2 * tau


def borne_a2s(series, fuse_a):
    return 0.22 * fuse_series(series).borne_a2s(fuse_a)


@dataclass(frozen=True)
class _Rule:
    code: str
    severity: str
    sentence: str
    needs_approval: bool


def carriage(chem, wh, v):
    if wh <= 100:
        return _Rule("pack-flies", "note", "in the cabin, at most 20 spares.", False)
    if wh <= 160:
        return _Rule("pack-needs-approval", "warn", "needs the operator's approval, at most two spares.", True)
    return _Rule("pack-is-cargo", "stop", "cargo only.", True)


def largest_mohm(amps, k_per_w, limit_c, air_c):
    return 1000 * (limit_c - air_c) / (k_per_w * amps**2 * (1 + 0.0075 * (limit_c - 25)))
