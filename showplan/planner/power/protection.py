"""Conductors and their fuses: what they carry, what protects them, what the next standard size is."""

from dataclasses import dataclass, replace
from typing import Final

from showplan.planner.power import tables
from showplan.planner.power.results import ConductorPower

WORN_TOGETHER: Final = 2  # leads under a costume lie together; judgement
ROUNDING: Final = 1e-9


@dataclass(frozen=True)
class Cable:
    """A conductor as it is laid: `together` loaded cables in one bundle, in air of `ambient_c`."""

    name: str
    length_m: float
    area_mm2: float
    ohm: float
    together: int
    ambient_c: float


@dataclass(frozen=True)
class Protected:
    """What flows in a conductor, and what is before it.

    `fuse` (A, class) at its start and `upstream` nearer to the supply, None where there is none; `limit_a` is what the
    supply itself lets through at most. `through_fuse_a` is that of all the cables behind the fuse.
    """

    design_a: float
    through_fuse_a: float
    fuse: tuple[float, str] | None
    fuse_class: str
    upstream: tuple[float, str] | None
    limit_a: float | None


def laid(cable: Cable, *, is_worn: bool) -> Cable:
    """The cable as crowded as it lies on a performer."""
    return replace(cable, together=max(cable.together, WORN_TOGETHER)) if is_worn else cable


def conductor(cable: Cable, use: Protected, drop_v: float) -> ConductorPower:
    """A conductor judged."""
    may_a = tables.lead_ampacity_a(cable.area_mm2, cable.together, cable.ambient_c)
    fuses = [one for one in (use.fuse, use.upstream) if one is not None]
    protecting = [a for a, key in fuses if tables.ampacity_for_fuse_a(key, a) <= may_a * (1 + ROUNDING)]
    if use.limit_a is not None and use.limit_a <= may_a:
        protecting.append(use.limit_a)
    return ConductorPower(
        name=cable.name,
        length_m=cable.length_m,
        area_mm2=cable.area_mm2,
        ohm=cable.ohm,
        conductor_c=cable.ambient_c,
        design_a=use.design_a,
        table_a=tables.cord_ampacity_a(cable.area_mm2),
        ambient_factor=tables.ambient_factor(cable.ambient_c),
        grouping_factor=tables.bundle_factor(cable.together),
        ampacity_a=may_a,
        fuse_a=use.fuse[0] if use.fuse else None,
        fuse_class=use.fuse_class,
        protected_by_a=min(protecting, default=None),
        fuse_wanted_a=tables.fuse_for(use.fuse_class, use.through_fuse_a),
        largest_fuse_a=tables.largest_fuse_for(use.fuse_class, may_a),
        drop_v=drop_v,
    )
