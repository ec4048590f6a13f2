"""Fuses: ratings by class, opening times, what they can break, and what pulses they bear."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from showplan.reference.records import load_keyed, load_rows
from showplan.reference.standing import OutsideTable, Standing
from showplan.reference.table import DATA_FOLDER, pick


@dataclass(frozen=True, slots=True)
class FuseSeries:
    """Fuses of one class and the ratings they are sold in, smallest first.

    A fuse carries `continuous_share` of its rating for long and surely opens at `opens_times` it (I_2 of IEC 60364-4-43
    over the rating). `volts` are the usual voltage ratings; one for AC does not promise the same for DC.
    """

    key: str
    name: str
    ratings_a: tuple[float, ...]
    continuous_share: float
    opens_times: float
    volts: tuple[float, ...]
    source: str
    standing: Standing
    note: str = ""

    def next_a(self, at_least_a: float) -> float | None:
        """The smallest rating that is not below; None beyond the largest."""
        return min((rating for rating in self.ratings_a if rating >= at_least_a * (1 - 1e-9)), default=None)

    def largest_a(self, at_most_a: float) -> float | None:
        """The largest rating that is not above; None below the smallest."""
        return max((rating for rating in self.ratings_a if rating <= at_most_a * (1 + 1e-9)), default=None)


@dataclass(frozen=True, slots=True)
class FuseGate:
    """At so many times its rating a fuse of a class holds for `least_s` and has opened after `most_s`."""

    fuse_class: str
    times_rating: float
    least_s: float | None
    most_s: float | None
    source: str
    standing: Standing
    note: str = ""


@dataclass(frozen=True, slots=True)
class FuseBreaking:
    """The most current a fuse can break: `breaks_a`, or `breaks_times` its rating if that is more."""

    key: str
    name: str
    breaks_a: float
    breaks_times: float
    source: str
    standing: Standing
    note: str = ""

    def amps(self, rating_a: float) -> float:
        """Breaking capacity in A of a fuse with this rating."""
        return max(self.breaks_a, self.breaks_times * rating_a)


@dataclass(frozen=True, slots=True)
class PulseLife:
    """Share of its nominal melting I2t that a fuse bears so many times, 10 s and more apart."""

    pulses: int
    share: float
    source: str
    standing: Standing
    note: str = ""


@cache
def fuse_series() -> Mapping[str, FuseSeries]:
    """Every class by key, read once per process."""
    return load_keyed(DATA_FOLDER / "fuse_series.csv", FuseSeries)


@cache
def fuse_gates() -> tuple[FuseGate, ...]:
    """Every row, read once per process."""
    return load_rows(DATA_FOLDER / "fuse_gates.csv", FuseGate)


@cache
def fuse_breaking() -> Mapping[str, FuseBreaking]:
    """Every row by key, read once per process."""
    return load_keyed(DATA_FOLDER / "fuse_breaking.csv", FuseBreaking)


@cache
def pulse_life() -> tuple[PulseLife, ...]:
    """Every row, fewest pulses first, read once per process."""
    return load_rows(DATA_FOLDER / "pulse_life.csv", PulseLife)


def fuse_class(key: str) -> FuseSeries:
    """The fuses of one class. Raises UnknownKey, which lists the classes."""
    return pick(fuse_series(), key, "fuse class")


def borne_share(pulses: int) -> float:
    """Share of the melting I2t that is borne so many times; between two rows that of more pulses.

    Raises OutsideTable beyond the last row.
    """
    rows = pulse_life()
    for row in rows:
        if row.pulses >= pulses:
            return row.share
    raise OutsideTable(f"{pulses} pulses: the table holds up to {rows[-1].pulses}")
