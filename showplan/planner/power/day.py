"""Packs through the show day: who is in use in which part, changes, charging in the gaps, what the night must do.

A pack is changed only before a part that allows it, and only when it would not reach the next such part with the
reserve left: with fresh packs enough, no plan changes less often. Levels are shares of a full pack as it is here, cold
and aged.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from showplan.planner.power.results import Charging

ROUNDING: Final = 1e-9


@dataclass(frozen=True)
class DayPart:
    """A part of the day: `share` of a full pack it takes; in a gap nothing is taken and packs are charged."""

    name: str
    minutes: float
    share: float
    may_change: bool
    is_gap: bool


@dataclass(frozen=True)
class PartPack:
    """The pack in use in one part: its number from 1, whether it was changed before, what is left at the end."""

    pack: int
    is_changed: bool
    left: float


@dataclass(frozen=True)
class Day:
    """A day with so many packs at its end; `unserved` are parts that no pack could last through."""

    parts: tuple[PartPack, ...]
    levels: tuple[float, ...]
    changes: int
    unserved: tuple[str, ...]
    charging: tuple[Charging, ...]


@dataclass
class _Packs:
    levels: list[float]
    used: int = 0
    charging: list[Charging] = field(default_factory=list)

    def change(self) -> bool:
        """Put in the fullest pack; whether it is another one."""
        best = max(range(len(self.levels)), key=lambda one: (self.levels[one], -one))
        if self.levels[best] <= self.levels[self.used] + ROUNDING:
            return False
        self.used = best
        return True

    def charge(self, part: DayPart, chargers: int, charge_h: float) -> None:
        """Packs that are not full go on the chargers, the emptiest first."""
        free = [0.0] * chargers
        waiting = [i for i, level in enumerate(self.levels) if level < 1 - ROUNDING]
        if not part.may_change:
            waiting = [i for i in waiting if i != self.used]
        for pack in sorted(waiting, key=lambda one: self.levels[one]):
            if not free or min(free) >= part.minutes - ROUNDING:
                return
            charger = free.index(min(free))
            before = self.levels[pack]
            minutes = min((1 - before) * charge_h * 60, part.minutes - free[charger])
            self.levels[pack] = min(1.0, before + minutes / (60 * charge_h))
            self.charging.append(
                Charging(part.name, pack + 1, charger + 1, free[charger], minutes, before, self.levels[pack])
            )
            free[charger] += minutes


def day_with(parts: Sequence[DayPart], most: int, *, reserve: float, chargers: int, charge_h: float) -> Day:
    """The day with at most so many packs, all full at its start; the fullest goes in at each change."""
    packs, unserved = _Packs([1.0] * min(most, len(parts) + 1)), []
    rows, changes, has_begun = [], 0, False
    for index, part in enumerate(parts):
        changed = False
        if part.is_gap:
            packs.charge(part, chargers, charge_h)
        else:
            run = _run(parts, index)
            need = sum(one.share for one in run) + reserve
            short = packs.levels[packs.used] < need - ROUNDING
            if part.may_change and short:
                changed = packs.change() and has_begun
                changes += changed
            if need > 1 + ROUNDING and (part.may_change or not has_begun):
                unserved += [one.name for one in run if one.share > 0]
            packs.levels[packs.used] -= part.share
            has_begun = True
        rows.append(PartPack(packs.used + 1, changed, packs.levels[packs.used]))
    return Day(tuple(rows), tuple(packs.levels), changes, tuple(unserved), tuple(packs.charging))


def packs_needed(parts: Sequence[DayPart], *, reserve: float, chargers: int, charge_h: float) -> int:
    """How many packs the day takes when they are charged in its gaps; parts that no pack lasts through do not count."""
    for count in range(1, len(parts) + 1):
        day = day_with(parts, count, reserve=reserve, chargers=chargers, charge_h=charge_h)
        rows = zip(parts, day.parts, strict=True)
        if all(
            row.left >= reserve - ROUNDING for part, row in rows if part.share > 0 and part.name not in day.unserved
        ):
            return count
    return max(len(parts), 1)


def night_needed_h(levels: Sequence[float], chargers: int, charge_h: float) -> float | None:
    """Hours to fill all packs on so many chargers, the emptiest first; None without a charger."""
    empty = sorted((1 - min(level, 1.0) for level in levels), reverse=True)
    if sum(empty) <= ROUNDING:
        return 0.0
    if not chargers:
        return None
    free = [0.0] * chargers
    for share in empty:
        free[free.index(min(free))] += min(share, 1.0) * charge_h
    return max(free)


def _run(parts: Sequence[DayPart], index: int) -> Sequence[DayPart]:
    """The parts from this one until a pack may be changed or charged again."""
    end = next((i for i in range(index + 1, len(parts)) if parts[i].may_change), len(parts))
    return parts[index:end]
