"""A pack as it is on the day: what it gives when cold and aged, and what a step of current takes of it."""

from dataclasses import dataclass
from typing import Final

from showplan.planner.power import chemistry as packs
from showplan.planner.power.chemistry import Chemistry
from showplan.planner.power.supply_facts import SupplyFacts
from showplan.planner.scene_power import Supply

RESERVE: Final = 0.1  # of a pack that stays in it; common practice, no source
RATED_HOURS: Final = 20.0  # of a lead-acid capacity, where none are given


@dataclass(frozen=True)
class Pack:
    """One pack: `capacity_ah` by its rating, the factors that hold here."""

    chemistry: Chemistry | None
    nominal_v: float
    capacity_ah: float
    rated_h: float
    temperature_factor: float
    ageing_factor: float

    @classmethod
    def of(cls, facts: SupplyFacts, coldest_c: float) -> "Pack | None":
        """The pack of a supply in air as cold as that; None for mains and for unknown capacity."""
        supply = facts.supply
        if supply is None or supply.kind != "battery" or supply.capacity_ah is None:
            return None
        return cls(
            chemistry=facts.chemistry,
            nominal_v=supply.nominal_v,
            capacity_ah=supply.capacity_ah,
            rated_h=supply.rated_hours or RATED_HOURS,
            temperature_factor=packs.capacity_factor(facts.chemistry, coldest_c),
            ageing_factor=supply.state_of_health,
        )

    @property
    def usable_ah(self) -> float:
        """Charge of a full pack here, at its rated current."""
        return self.capacity_ah * self.temperature_factor * self.ageing_factor

    def hours(self, amps: float) -> float:
        """How long a full pack lasts at a steady current; lead-acid by Peukert's law, never longer than by charge."""
        if amps <= 0:
            return float("inf")
        exponent = self.chemistry.peukert if self.chemistry else 1.0
        if exponent > 1:
            return packs.peukert_hours(amps, self.usable_ah, self.rated_h, exponent)
        return self.usable_ah / amps

    def share(self, amps: float, hours: float) -> float:
        """Share of a full pack that so much current takes in so much time."""
        return hours / self.hours(amps) if amps > 0 else 0.0


def pack_current_a(supply: Supply, delivered_a: float, delivered_v: float) -> float:
    """Current from the cells for a current to the nodes: through the converter where there is one."""
    if supply.converter_v is None:
        return delivered_a
    return delivered_a * delivered_v / (supply.converter_efficiency * supply.nominal_v)


def charge_hours(supply: Supply, chemistry: Chemistry | None) -> float:
    """Hours to fill an empty pack; a charger of unknown current charges at the usual rate of its chemistry."""
    assert supply.capacity_ah is not None  # asked by the caller
    factor = chemistry.charge_factor if chemistry else packs.SLOWEST_CHARGE_FACTOR
    rate = chemistry.charge_c_rate if chemistry else packs.SLOWEST_CHARGE_RATE
    amps = supply.charger_current_a or rate * supply.capacity_ah
    return factor * supply.capacity_ah / amps
