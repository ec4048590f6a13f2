"""A pack as it is on the day: what it gives when cold and aged, and what a step of current takes of it."""

from dataclasses import dataclass
from typing import Final

from showplan.physics.batteries import charge_h, converter_input_a, discharge_h, discharge_share
from showplan.planner.power.chemistries import cold_share, exponent_of
from showplan.planner.power.supply_facts import SupplyFacts
from showplan.reference.batteries import BatteryChemistry, battery_chemistries

RESERVE: Final = 0.1  # of a pack that stays in it; common practice, no source


@dataclass(frozen=True)
class Pack:
    """One pack: `capacity_ah` by its rating over `rated_h`, and the factors that hold here."""

    chemistry: BatteryChemistry | None
    nominal_v: float
    capacity_ah: float
    rated_h: float
    temperature_factor: float
    ageing_factor: float

    @classmethod
    def of(cls, facts: SupplyFacts, coldest_c: float) -> "Pack | None":
        """The pack of a supply in air as cold as that; None for mains and for unknown capacity."""
        supply = facts.supply
        if supply is None or not facts.is_battery or facts.capacity_ah is None:
            return None
        return cls(
            chemistry=facts.chemistry,
            nominal_v=supply.nominal_v,
            capacity_ah=facts.capacity_ah,
            rated_h=facts.rated_h,
            temperature_factor=cold_share(facts.chemistry, coldest_c),
            ageing_factor=supply.state_of_health,
        )

    @property
    def usable_ah(self) -> float:
        """Charge of a full pack here, at its rated current."""
        return self.capacity_ah * self.temperature_factor * self.ageing_factor

    def hours(self, amps: float) -> float | None:
        """How long a full pack lasts at a steady current; None where nothing is drawn."""
        if amps <= 0 or self.usable_ah <= 0:
            return None if amps <= 0 else 0.0
        return discharge_h(amps, self.usable_ah, self.rated_h, exponent_of(self.chemistry))

    def share(self, amps: float, hours: float) -> float:
        """Share of a full pack that so much current takes in so much time: never worked out on a mean of steps."""
        if self.usable_ah <= 0:
            return 1e3 if amps > 0 else 0.0  # frozen: no pack serves
        return discharge_share(hours, amps, self.usable_ah, self.rated_h, exponent_of(self.chemistry))


def pack_current_a(facts: SupplyFacts, delivered_a: float) -> float:
    """Current from the cells for a current to the nodes: through the converter where there is one."""
    supply = facts.supply
    if supply is None or supply.converter_v is None or supply.kind == "mains":
        return delivered_a
    return converter_input_a(delivered_a, supply.converter_v, supply.nominal_v, supply.converter_efficiency)


def charge_hours(facts: SupplyFacts) -> float:
    """Hours to fill an empty pack; a charger of unknown current charges at the usual rate of its chemistry."""
    assert facts.supply is not None  # asked by the caller
    assert facts.capacity_ah is not None
    slowest = battery_chemistries().values()
    factor = facts.chemistry.charge_factor if facts.chemistry else max(one.charge_factor for one in slowest)
    rate = facts.chemistry.charge_per_h if facts.chemistry else min(one.charge_per_h for one in slowest)
    amps = facts.supply.charger_current_a or rate * facts.capacity_ah
    return charge_h(facts.capacity_ah, amps, factor)
