"""Conductors and their fuses: what they carry, what protects them, what the next standard size is."""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from showplan.planner.power import tables
from showplan.planner.power.results import ConductorPower

WORN_GROUP: Final = 2  # leads under a costume lie together
ROUNDING: Final = 1e-9


@dataclass(frozen=True)
class Cable:
    """A conductor as it is laid: `together` loaded cables in one bundle, in air of `ambient_c`."""

    name: str
    length_m: float
    area_mm2: float
    ohm: float
    conductor_c: float
    together: int
    ambient_c: float


def laid(cable: Cable, *, is_worn: bool) -> Cable:
    """The cable as crowded as it lies on a performer."""
    if not is_worn:
        return cable
    return replace(cable, together=max(cable.together, WORN_GROUP))


def ampacity_a(area_mm2: float, together: int, ambient_c: float) -> float:
    """What a lead may carry: the cord table by ambient temperature and grouping."""
    return tables.cord_ampacity_a(area_mm2) * tables.ambient_factor(ambient_c) * tables.grouping_factor(together)


@lru_cache(maxsize=4096)
def fuse_for(series_key: str, load_a: float) -> float | None:
    """The smallest fuse of a series that carries a load for hours, None beyond its end."""
    series = tables.fuse_series(series_key)
    needed = load_a / series.continuous_share
    return next((size for size in series.sizes_a if size >= needed * (1 - ROUNDING)), None)


@lru_cache(maxsize=4096)
def ampacity_for_fuse_a(series_key: str, fuse_a: float) -> float:
    """What a conductor must carry so that the fuse protects it: In <= Iz and I2 <= 1.45 Iz."""
    return max(fuse_a, tables.fuse_series(series_key).conventional_factor * fuse_a / 1.45)


@lru_cache(maxsize=4096)
def largest_fuse_for(series_key: str, conductor_a: float) -> float | None:
    """The largest fuse of a series that protects a conductor, None where the smallest does not."""
    sizes = tables.fuse_series(series_key).sizes_a
    fitting = [size for size in sizes if ampacity_for_fuse_a(series_key, size) <= conductor_a * (1 + ROUNDING)]
    return max(fitting, default=None)


def conductor(
    cable: Cable,
    *,
    design_a: float,
    through_fuse_a: float,
    fuse_a: float | None,
    fuse_class: str,
    upstream: tuple[float, str] | None,
    limit_a: float | None,
    drop_v: float,
) -> ConductorPower:
    """A conductor judged. `through_fuse_a` flows through the fuse at its start (that of several cables together).

    `upstream` is the nearest fuse before it, `limit_a` what the supply itself lets through at most.
    """
    may_a = ampacity_a(cable.area_mm2, cable.together, cable.ambient_c)
    own = (fuse_a, fuse_class) if fuse_a is not None else None
    fuses = [one for one in (own, upstream) if one is not None]
    protecting = [a for a, series in fuses if ampacity_for_fuse_a(series, a) <= may_a * (1 + ROUNDING)]
    if limit_a is not None and limit_a <= may_a:
        protecting.append(limit_a)
    return ConductorPower(
        name=cable.name,
        length_m=cable.length_m,
        area_mm2=cable.area_mm2,
        ohm=cable.ohm,
        conductor_c=cable.conductor_c,
        design_a=design_a,
        table_a=tables.cord_ampacity_a(cable.area_mm2),
        ambient_factor=tables.ambient_factor(cable.ambient_c),
        grouping_factor=tables.grouping_factor(cable.together),
        ampacity_a=may_a,
        fuse_a=fuse_a,
        fuse_class=fuse_class,
        protected_by_a=min(protecting, default=None),
        fuse_wanted_a=fuse_for(fuse_class, through_fuse_a),
        largest_fuse_a=largest_fuse_for(fuse_class, may_a),
        drop_v=drop_v,
    )
