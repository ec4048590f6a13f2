"""Energy over the show day: what each supply and node gives part by part, and how its packs go through the day."""

from collections.abc import Mapping, Sequence

from showplan.planner.power.battery import RESERVE, Pack, charge_hours, pack_current_a
from showplan.planner.power.day import DayPart, PartPack, day_with, night_needed_h, packs_needed
from showplan.planner.power.results import PackDay, PartEnergy
from showplan.planner.power.supply_facts import SupplyFacts
from showplan.planner.scene_power import ShowPart

DAY_H = 24.0


def node_energy_wh(
    volts: float, part_amps: Mapping[str, float], parts: Sequence[ShowPart]
) -> tuple[tuple[str, float], ...]:
    """What a node takes over each part, in Wh at the supply's voltage."""
    return tuple((part.name, volts * part_amps[part.name] * part.minutes / 60) for part in parts)


def supply_day(
    facts: SupplyFacts,
    parts: Sequence[ShowPart],
    part_amps: Mapping[str, float],
    full_a: float,
    coldest_c: float,
) -> tuple[tuple[PartEnergy, ...], PackDay | None]:
    """The parts of the day for a supply whose nodes together take `part_amps` in each part and `full_a` with all on."""
    supply = facts.supply
    assert supply is not None  # an assumed supply has no day
    from_pack = {name: pack_current_a(facts, amps) for name, amps in part_amps.items()}
    pack = Pack.of(facts, coldest_c)
    steps: list[DayPart] = []
    for part in parts:
        share = pack.share(from_pack[part.name], part.minutes / 60) if pack else 0.0
        steps.append(DayPart(part.name, part.minutes, share, part.may_change_packs, part.kind == "gap"))
    if pack is None:
        rows: Sequence[PartPack | None] = [None] * len(parts)
        day = None
    else:
        rows, day = _packs(facts, pack, steps, pack_current_a(facts, full_a))
    energies = tuple(
        _part_energy(part, step, row, from_pack[part.name], supply.nominal_v)
        for part, step, row in zip(parts, steps, rows, strict=True)
    )
    return energies, day


def _part_energy(part: ShowPart, step: DayPart, row: PartPack | None, amps: float, volts: float) -> PartEnergy:
    return PartEnergy(
        part=part.name,
        kind=part.kind,
        minutes=part.minutes,
        mean_a=amps,
        drawn_wh=volts * amps * part.minutes / 60,
        share=step.share if row else None,
        left=row.left if row else None,
        pack=row.pack if row else None,
        is_changed=row.is_changed if row else False,
    )


def _packs(
    facts: SupplyFacts, pack: Pack, steps: Sequence[DayPart], full_a: float
) -> tuple[Sequence[PartPack], PackDay]:
    supply = facts.supply
    assert supply is not None  # it has a pack
    one_h = charge_hours(facts)
    needed = packs_needed(steps, reserve=RESERVE, chargers=supply.chargers, charge_h=one_h)
    day = day_with(steps, supply.packs, reserve=RESERVE, chargers=supply.chargers, charge_h=one_h)
    on_h = sum(step.minutes for step in steps if not step.is_gap) / 60
    total = sum(step.share for step in steps)
    at_full_h = pack.hours(full_a)
    levels = [max(level, 0.0) for level in day.levels]
    return day.parts, PackDay(
        usable_ah=pack.usable_ah,
        usable_wh=pack.usable_ah * pack.nominal_v,
        capacity_ah=pack.capacity_ah,
        temperature_factor=pack.temperature_factor,
        ageing_factor=pack.ageing_factor,
        reserve=RESERVE,
        hours_at_full=None if at_full_h is None else (1 - RESERVE) * at_full_h,
        hours_of_show=(1 - RESERVE) * on_h / total if total > 0 else None,
        day_share=total,
        packs=supply.packs,
        packs_needed=needed,
        changes=day.changes,
        unserved=day.unserved,
        charge_hours=one_h,
        overnight_h=night_needed_h(levels, supply.chargers, one_h),
        night_h=max(DAY_H - sum(step.minutes for step in steps) / 60, 0.0),
        charging=day.charging,
    )
