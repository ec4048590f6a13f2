"""How the demo's kit is written down: a device with its supply and loads, before it becomes records."""

from dataclasses import dataclass

RATED_V = 12.0
# 12 V tape in 3-LED strings of 20 mA: 12 V x 20 mA x LEDs a metre / 3, as makers state it for 60 and 120 LEDs a metre.
TAPE_60_W_PER_M = 4.8
TAPE_120_W_PER_M = 9.6
# Plausible figures; a crew measures its own tape: a known current, the voltage at two places.
TAPE_60_OHM_PER_M, TAPE_120_OHM_PER_M = 0.14, 0.09
# Sections of class 5 flexible leads (IEC 60228) sold for small loads.
FINE_MM2, MIDDLE_MM2, STOUT_MM2, STOUTEST_MM2 = 0.5, 0.75, 1.5, 2.5
# As makers mark 12 V supplies for LEDs.
LIMITED_POWER_W = 60.0


@dataclass(frozen=True)
class LoadPlan:
    """A load; `rated_w` or `rated_a` is that of the whole load at RATED_V, not of a metre of it.

    Its output has a fuse unless it `lacks_fuse`.
    """

    part: str
    kind: str
    cable_length_m: float
    cable_area_mm2: float = FINE_MM2
    rated_w: float | None = None
    rated_a: float | None = None
    length_m: float | None = None
    tape_ohm_per_m: float | None = None
    feeding: str = "one-end"
    feed_points_m: tuple[float, ...] = ()
    cables_together: int = 1
    lacks_fuse: bool = False

    @property
    def current_a(self) -> float:
        """What it takes at RATED_V."""
        return self.rated_a if self.rated_a is not None else (self.rated_w or 0.0) / RATED_V


@dataclass(frozen=True)
class SupplyPlan:
    """A battery (with its chemistry and capacity) or a mains supply."""

    nominal_v: float
    current_limit_a: float
    chemistry: str = ""
    cells: int | None = None
    capacity_ah: float | None = None
    rated_hours: float | None = None
    state_of_health: float = 0.8
    internal_resistance_ohm: float | None = None
    converter_v: float | None = None
    converter_efficiency: float = 0.85
    isolation: str = "unknown"
    is_limited_power: bool = False
    packs: int = 1
    chargers: int = 1
    charger_current_a: float | None = None


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
    feeding: str = "one-end",
    feed_points_m: tuple[float, ...] = (),
    cables_together: int = 1,
) -> LoadPlan:
    """A length of tape behind its lead, or its leads."""
    return LoadPlan(
        part,
        "tape",
        cable_length_m,
        cable_area_mm2,
        rated_w=round(length_m * w_per_m, 2),
        length_m=length_m,
        tape_ohm_per_m=TAPE_120_OHM_PER_M if w_per_m == TAPE_120_W_PER_M else TAPE_60_OHM_PER_M,
        feeding=feeding,
        feed_points_m=feed_points_m,
        cables_together=cables_together,
    )


def lamp(
    part: str, rated_w: float, cable_length_m: float, *, cable_area_mm2: float = FINE_MM2, lacks_fuse: bool = False
) -> LoadPlan:
    """A small LED lamp, rated in watts."""
    return LoadPlan(part, "lamp", cable_length_m, cable_area_mm2, rated_w=rated_w, lacks_fuse=lacks_fuse)


def fan(part: str, rated_a: float, cable_length_m: float) -> LoadPlan:
    """A small fan, rated in amps as its label gives it."""
    return LoadPlan(part, "fan", cable_length_m, rated_a=rated_a)


def mains(watts: float) -> SupplyPlan:
    """A 12 V mains supply of that rating; small ones are marked as limited power sources."""
    is_small = watts <= LIMITED_POWER_W
    limit_a = round(watts / RATED_V, 2)
    return SupplyPlan(nominal_v=RATED_V, current_limit_a=limit_a, isolation="selv", is_limited_power=is_small)


def battery(
    chemistry: str,
    cells: int,
    capacity_ah: float,
    *,
    milliohms: float,
    limit_a: float,
    converter_v: float | None = RATED_V,
    packs: int = 2,
    state_of_health: float = 0.85,
) -> SupplyPlan:
    """Packs of `cells` in series, with a converter behind unless `converter_v` is None; charged over two hours."""
    return SupplyPlan(
        nominal_v=round(cells * _NOMINAL_V[chemistry], 1),
        current_limit_a=limit_a,
        chemistry=chemistry,
        cells=cells,
        capacity_ah=capacity_ah,
        rated_hours=5.0,
        state_of_health=state_of_health,
        internal_resistance_ohm=milliohms / 1000,
        converter_v=converter_v,
        converter_efficiency=0.9 if converter_v else 0.85,
        packs=packs,
        charger_current_a=capacity_ah / 2,
    )


# Volts a cell, the figures that makers state.
_NOMINAL_V = {"lifepo4": 3.2, "li-ion": 3.6, "nimh": 1.2}
