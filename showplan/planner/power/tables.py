"""What the tables and formulas say of wires and fuses, for any size that a crew may enter; kept, as sizes repeat."""

from functools import lru_cache
from typing import Final

from showplan.physics.ampacity import ambient_factor as ambient_formula
from showplan.physics.ampacity import ampacity_a
from showplan.physics.conductors import loop_ohm, solid_copper_ohm_per_km
from showplan.physics.fuses import fuse_wanted_a, largest_fuse_a, least_ampacity_a
from showplan.reference.fuses import FuseSeries, borne_share, fuse_breaking, fuse_class, fuse_gates
from showplan.reference.standing import OutsideTable
from showplan.reference.wires import Wire, grouping_factor, wire_of, wires

MEMORY: Final = "from memory"
FLEXIBLE: Final = 1.16  # resistance of a class 5 conductor over solid copper of its nominal area, the most of the table
MANY_PULSES: Final = 100_000
QUICK_PULSE_S: Final = 1.0  # gates of fuses below this are short enough to tell their melting heat
LOWEST_BREAKING: Final = "L"  # of a miniature fuse whose letter is not known

KEPT: Final = 4096


@lru_cache(maxsize=KEPT)
def loop_ohm_per_m(area_mm2: float, conductor_c: float) -> float:
    """Resistance of a metre of flexible cable, go and return; beyond the table as for the most of it."""
    wire = _wire(area_mm2)
    per_km = wire.plain_ohm_per_km if wire else FLEXIBLE * solid_copper_ohm_per_km(area_mm2)
    return loop_ohm(per_km, 1.0, conductor_c)


@lru_cache(maxsize=KEPT)
def cord_ampacity_a(area_mm2: float) -> float:
    """Current of the table of cords; thinner than the table in proportion to the area, thicker as its last row."""
    wire = _wire(area_mm2)
    if wire is not None:
        return wire.cord_a
    rows = list(wires().values())
    return rows[0].cord_a * area_mm2 / rows[0].area_mm2 if area_mm2 < rows[0].area_mm2 else rows[-1].cord_a


def is_in_table(area_mm2: float) -> bool:
    """Whether the table of wires holds a size of about this area."""
    return _wire(area_mm2) is not None


@lru_cache(maxsize=KEPT)
def _wire(area_mm2: float) -> Wire | None:
    try:
        return wire_of(area_mm2)
    except OutsideTable:
        return None


@lru_cache(maxsize=1)
def areas_mm2() -> tuple[float, ...]:
    """Standard sizes, thinnest first; without the one that IEC 60228 does not know."""
    return tuple(wire.area_mm2 for wire in wires().values() if wire.standing == "read")


@lru_cache(maxsize=KEPT)
def ambient_factor(ambient_c: float) -> float:
    """Share of its current that a cord may carry in warm air."""
    return ambient_formula(ambient_c)


def bundle_factor(cables: int) -> float:
    """Share of its current that each of so many loaded cables in a bundle may carry."""
    return grouping_factor(cables)


@lru_cache(maxsize=KEPT)
def lead_ampacity_a(area_mm2: float, together: int, ambient_c: float) -> float:
    """What a lead may carry as it is laid."""
    return ampacity_a(cord_ampacity_a(area_mm2), ambient_factor(ambient_c), bundle_factor(together))


def series_of(key: str) -> FuseSeries:
    """The fuses of a class."""
    return fuse_class(key)


@lru_cache(maxsize=KEPT)
def fuse_for(key: str, load_a: float) -> float | None:
    """The smallest fuse of a class that carries a load for hours, None beyond its end."""
    series = fuse_class(key)
    return series.next_a(fuse_wanted_a(load_a, series.continuous_share))


@lru_cache(maxsize=KEPT)
def ampacity_for_fuse_a(key: str, fuse_a: float) -> float:
    """What a conductor must carry so that the fuse protects it."""
    return least_ampacity_a(fuse_a, fuse_class(key).opens_times)


@lru_cache(maxsize=KEPT)
def largest_fuse_for(key: str, conductor_a: float) -> float | None:
    """The largest fuse of a class that protects a conductor, None where the smallest does not."""
    series = fuse_class(key)
    return series.largest_a(largest_fuse_a(conductor_a, series.opens_times))


def breaking_a(key: str, fuse_a: float) -> float:
    """What a fuse of the class breaks at least; of a miniature one whose letter is unknown, the lowest."""
    rows = fuse_breaking()
    return rows.get(key, rows[LOWEST_BREAKING]).amps(fuse_a)


@lru_cache(maxsize=KEPT)
def borne_a2s(key: str, fuse_a: float) -> float:
    """I2t that a fuse bears many times: a share of the least that its class lets through unmelted at short times."""
    gates = [gate for gate in fuse_gates() if gate.least_s is not None and gate.least_s < QUICK_PULSE_S]
    own = [gate for gate in gates if gate.fuse_class == key] or gates
    held = [(gate.times_rating, (gate.times_rating * fuse_a) ** 2 * (gate.least_s or 0.0)) for gate in own]
    shortest = max(times for times, _ in held)
    return borne_share(MANY_PULSES) * min(heat for times, heat in held if times == shortest)
