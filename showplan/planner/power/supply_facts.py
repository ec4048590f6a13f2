"""Supplies as the circuit needs them."""

from collections.abc import Sequence
from dataclasses import dataclass

from showplan.planner.findings import Subject
from showplan.planner.power.chemistries import PACK_OHM_PER_V, battery_preset, chemistry_of, rated_hours_of
from showplan.planner.power.results import Assumed, InStates
from showplan.planner.power.values import Values
from showplan.planner.scene import Node
from showplan.planner.scene_power import Load, Supply
from showplan.reference.batteries import BatteryChemistry

FULL_SHARE, EMPTY_SHARE = 1.21, 0.78  # of the nominal voltage, the widest of the known chemistries


@dataclass(frozen=True)
class SupplyFacts:
    """A supply, or the ideal one assumed for a node without (`supply` None).

    `emf_v` is what the nodes get before `source_ohm`, `pack_v` that of the cells behind a converter. `limit_a` is known
    for what limits its own current (mains, converter) and may be for a battery.
    """

    label: str
    supply: Supply | None
    chemistry: BatteryChemistry | None
    emf_v: InStates
    pack_v: InStates
    source_ohm: float
    limit_a: float | None
    capacity_ah: float | None = None
    rated_h: float = 0.0
    assumed: tuple[Assumed, ...] = ()

    @property
    def is_battery(self) -> bool:
        """Whether it runs empty."""
        return self.supply is not None and self.supply.kind == "battery"

    @property
    def limits_itself(self) -> bool:
        """Whether a short circuit draws no more than its limit: mains supplies and converters."""
        return not self.is_battery or (self.supply is not None and self.supply.converter_v is not None)

    @property
    def short_circuit_a(self) -> float:
        """Current into a short circuit at its terminals; endless where nothing is known of it."""
        if self.limits_itself:
            return self.limit_a if self.limit_a is not None else float("inf")
        return self.emf_v.full / self.source_ohm if self.source_ohm > 0 else float("inf")


def supply_facts(supply: Supply) -> SupplyFacts:
    """What a supply does; what was not entered follows its preset, its chemistry or an assumption."""
    values = Values("supply", supply.label, supply.preset)
    if supply.kind == "mains":
        emf = _steady(supply.nominal_v)
        ohm = supply.internal_resistance_ohm or 0.0
        return SupplyFacts(supply.label, supply, None, emf, emf, ohm, supply.current_limit_a)
    preset = battery_preset(supply.preset)
    chemistry = chemistry_of(supply.chemistry or (preset.chemistry if preset else ""))
    pack = pack_volts(supply, chemistry, values)
    typical_ohm = chemistry.ohm_per_cell * cells_of(supply, chemistry) if chemistry else PACK_OHM_PER_V * pack.nominal
    ohm = values.of("internal_resistance_ohm", supply.internal_resistance_ohm, typical_ohm, "ohm")
    capacity_ah = supply.capacity_ah
    if capacity_ah is None and preset is not None:
        capacity_ah = values.of("capacity_ah", None, preset.capacity_ah, "Ah")
    emf, source_ohm = pack, ohm
    if supply.converter_v is not None:
        emf, source_ohm = _steady(supply.converter_v), 0.0
    return SupplyFacts(
        label=supply.label,
        supply=supply,
        chemistry=chemistry,
        emf_v=emf,
        pack_v=pack,
        source_ohm=source_ohm,
        limit_a=supply.current_limit_a,
        capacity_ah=capacity_ah,
        rated_h=supply.rated_hours or (preset.rated_hours if preset else rated_hours_of(chemistry)),
        assumed=tuple(values.assumed),
    )


def _steady(volts: float) -> InStates:
    return InStates(volts, volts, volts, volts)


def cells_of(supply: Supply, chemistry: BatteryChemistry) -> int:
    """Cells in series: as entered, else as many as the nominal voltage has."""
    return supply.cells or max(1, round(supply.nominal_v / chemistry.nominal_v))


def pack_volts(supply: Supply, chemistry: BatteryChemistry | None, values: Values) -> InStates:
    """The pack in the four states; full and empty by its chemistry, or the widest range where that is unknown."""
    nominal = supply.nominal_v
    if chemistry is not None:
        cells = cells_of(supply, chemistry)
        return InStates(nominal, cells * chemistry.full_v, nominal, cells * chemistry.cut_off_v)
    full = values.of("full_charge_v", None, FULL_SHARE * nominal, "V", "chemistry unknown: the widest of those known")
    empty = values.of("cut_off_v", None, EMPTY_SHARE * nominal, "V", "chemistry unknown: the widest of those known")
    return InStates(nominal, full, nominal, empty)


def ideal_supply(node: Node, loads: Sequence[Load]) -> SupplyFacts:
    """What is assumed to feed a node without an entered supply."""
    volts = max(load.rated_v for load in loads)
    emf = _steady(volts)
    source = "no supply entered: an ideal one at the rated voltage of its loads"
    assumed = Assumed(Subject("node", node.label), "supply_v", volts, "V", source)
    return SupplyFacts("", None, None, emf, emf, 0.0, None, assumed=(assumed,))
