"""How the demo's kit is written down: a device with its supply and loads, before it becomes records."""

from dataclasses import dataclass

RATED_V = 12.0
# 12 V tape in 3-LED strings of 20 mA: 12 V x 20 mA x LEDs a metre / 3, as makers state it for 60 and 120 LEDs a metre.
TAPE_60_W_PER_M = 4.8
TAPE_120_W_PER_M = 9.6
# Sections of class 5 flexible leads (IEC 60228) sold for small loads.
FINE_MM2, MIDDLE_MM2, STOUT_MM2 = 0.5, 0.75, 1.5


@dataclass(frozen=True)
class LoadPlan:
    """A load; `rated_w` or `rated_a` is that of the whole load at RATED_V, not of a metre of it."""

    part: str
    kind: str
    cable_length_m: float
    cable_area_mm2: float = FINE_MM2
    rated_w: float | None = None
    rated_a: float | None = None
    length_m: float | None = None


@dataclass(frozen=True)
class SupplyPlan:
    """A battery (with its chemistry and capacity) or a mains supply."""

    nominal_v: float
    current_limit_a: float
    chemistry: str = ""
    capacity_ah: float | None = None
    internal_resistance_ohm: float | None = None


@dataclass(frozen=True)
class Device:
    """One node of the kit with what hangs on it."""

    label: str
    role: str
    node_type: str
    network: str
    crew: str
    short_address: int
    supply: SupplyPlan
    is_worn: bool = False
    loads: tuple[LoadPlan, ...] = ()
    note: str = ""


def tape(
    part: str,
    length_m: float,
    cable_length_m: float,
    *,
    w_per_m: float = TAPE_60_W_PER_M,
    cable_area_mm2: float = FINE_MM2,
) -> LoadPlan:
    """A length of tape behind its lead."""
    rated_w = round(length_m * w_per_m, 2)
    return LoadPlan(part, "tape", cable_length_m, cable_area_mm2, rated_w=rated_w, length_m=length_m)


def lamp(part: str, rated_w: float, cable_length_m: float, *, cable_area_mm2: float = FINE_MM2) -> LoadPlan:
    """A small LED lamp, rated in watts."""
    return LoadPlan(part, "lamp", cable_length_m, cable_area_mm2, rated_w=rated_w)


def fan(part: str, rated_a: float, cable_length_m: float) -> LoadPlan:
    """A small fan, rated in amps as its label gives it."""
    return LoadPlan(part, "fan", cable_length_m, rated_a=rated_a)


def mains(watts: float) -> SupplyPlan:
    """A 12 V mains supply of that rating."""
    return SupplyPlan(nominal_v=RATED_V, current_limit_a=round(watts / RATED_V, 2))


def battery(chemistry: str, cells: int, capacity_ah: float, *, milliohms: float, limit_a: float) -> SupplyPlan:
    """A pack of `cells` in series."""
    return SupplyPlan(
        nominal_v=round(cells * _NOMINAL_V[chemistry], 1),
        current_limit_a=limit_a,
        chemistry=chemistry,
        capacity_ah=capacity_ah,
        internal_resistance_ohm=milliohms / 1000,
    )


# Volts a cell, the figures that makers state.
_NOMINAL_V = {"LiFePO4": 3.2, "Li-ion": 3.6, "NiMH": 1.2}
