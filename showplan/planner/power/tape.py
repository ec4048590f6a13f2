"""A tape as a distributed load, fed at any points, each by a cable of its own.

Exact for loads linear in the voltage: affine ones (LED strings; resistive with threshold 0) follow u'' = b^2 u with
u = V - threshold, so the tape is an admittance; at constant current the voltages are parabolas. At constant power see
`power_tape`. Plain numbers throughout: a tour has a thousand tapes of a few feed points each. The catalogue has one end
and both ends in closed form (`physics.tape`, `physics.string_tape`); the tests hold this against them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import atanh, cosh, inf, sinh, sqrt, tanh
from typing import Final

LONGEST: Final = 300.0  # attenuation lengths; further out a tape is dark, and cosh would overflow
SAMPLES: Final = 9  # of a tape, for the line diagram


@dataclass(frozen=True)
class Tape:
    """Tape of `length_m` with `ohm_per_m` go and return, fed at `points_m` (ascending) by cables of `cable_ohm`."""

    length_m: float
    ohm_per_m: float
    points_m: tuple[float, ...]
    cable_ohm: float

    @property
    def pieces(self) -> tuple[tuple[float, float], ...]:
        """(start, end) in m of what lies between feed points, and of the ends beyond them."""
        return tuple(pairwise(sorted({0.0, *self.points_m, self.length_m})))

    @property
    def gaps_m(self) -> list[float]:
        """Lengths between feed points."""
        return [end - start for start, end in pairwise(self.points_m)]

    @property
    def ends_m(self) -> tuple[float, float]:
        """Lengths beyond the first and the last feed point."""
        return self.points_m[0], self.length_m - self.points_m[-1]


@dataclass(frozen=True)
class Profile:
    """Along a tape: place in m from its start, volts, and amperes that flow there towards its end (negative: back)."""

    place_m: tuple[float, ...]
    volts: tuple[float, ...]
    amps: tuple[float, ...]
    least_v: float

    def between(self, terminal_v: float, factor: float) -> "Profile":
        """The profile with volts and amperes times `factor`, raised by `terminal_v`."""
        return Profile(
            self.place_m,
            tuple(terminal_v + factor * v for v in self.volts),
            tuple(factor * a for a in self.amps),
            terminal_v + factor * self.least_v,
        )


@dataclass(frozen=True)
class AffineTape:
    """A tape whose every metre takes `siemens_per_m` (V - `threshold_v`); figures are per volt of u at its terminal."""

    tape: Tape
    siemens_per_m: float
    threshold_v: float

    @property
    def wave_siemens(self) -> float:
        """Admittance of an endless tape."""
        return sqrt(self.siemens_per_m / self.tape.ohm_per_m)

    @property
    def per_m(self) -> float:
        """Attenuation b, 1/m."""
        return sqrt(self.siemens_per_m * self.tape.ohm_per_m)

    @cached_property
    def at_points(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """(u, current) at each feed point for 1 V of u where its cables begin."""
        wave, rate, count = self.wave_siemens, self.per_m, len(self.tape.points_m)
        own = [0.0] * count
        first_m, last_m = self.tape.ends_m
        own[0] += wave * tanh(rate * first_m)
        own[-1] += wave * tanh(rate * last_m)
        to_next = []
        for i, gap_m in enumerate(self.tape.gaps_m):
            angle = min(rate * gap_m, LONGEST)
            through = wave / tanh(angle)
            own[i] += through
            own[i + 1] += through
            to_next.append(-wave / sinh(angle))
        cable = self.tape.cable_ohm
        u = _tridiagonal([1 + cable * y for y in own], [cable * y for y in to_next], [1.0] * count)
        into = [y * v for y, v in zip(own, u, strict=True)]
        for i, y in enumerate(to_next):
            into[i] += y * u[i + 1]
            into[i + 1] += y * u[i]
        return tuple(u), tuple(into)

    @cached_property
    def siemens(self) -> float:
        """Admittance seen where its cables begin."""
        return sum(self.at_points[1])

    @property
    def mean(self) -> float:
        """Mean of u over the tape."""
        return self.siemens / (self.siemens_per_m * self.tape.length_m)

    @cached_property
    def profile(self) -> Profile:
        """u and amperes along the tape for 1 V of u where its cables begin."""
        fed = dict(zip(self.tape.points_m, self.at_points[0], strict=True))
        rate, wave, pieces = self.per_m, self.wave_siemens, self.tape.pieces
        places: list[float] = []
        u: list[float] = []
        amps: list[float] = []
        least = inf
        for start, end in pieces:
            whole = min(rate * (end - start), LONGEST)
            # u = p cosh(bx) + q sinh(bx) from the piece's start; an open end has no slope
            if start in fed and end in fed:
                p = fed[start]
                q = (fed[end] - p * cosh(whole)) / sinh(whole)
            elif start in fed:
                p, q = fed[start], -fed[start] * tanh(whole)
            else:
                p, q = fed[end] / cosh(whole), 0.0
            for x in _places(end - start, len(pieces)):
                c, s = cosh(min(rate * x, LONGEST)), sinh(min(rate * x, LONGEST))
                places.append(start + x)
                u.append(max(p * c + q * s, 0.0))
                amps.append(-wave * (p * s + q * c))
            lowest = atanh(-q / p) if 0 < -q < p else inf
            least = min(least, sqrt(p * p - q * q) if lowest < whole else min(p, u[-1]))
        return Profile(tuple(places), tuple(u), tuple(amps), least)


@dataclass(frozen=True)
class SteadyTape:
    """A tape whose every metre takes `amps_per_m` whatever the voltage."""

    tape: Tape
    amps_per_m: float

    @cached_property
    def cable_a(self) -> tuple[float, ...]:
        """Current of the cable to each feed point."""
        gaps_m, count = self.tape.gaps_m, len(self.tape.points_m)
        first_m, last_m = self.tape.ends_m
        taken_m, own, to_next = [0.0] * count, [1.0] * count, []
        taken_m[0] += first_m
        taken_m[-1] += last_m
        for i, gap_m in enumerate(gaps_m):
            share = self.tape.cable_ohm / (self.tape.ohm_per_m * gap_m)
            for at in (i, i + 1):
                taken_m[at] += gap_m / 2
                own[at] += share
            to_next.append(-share)
        return tuple(_tridiagonal(own, to_next, [self.amps_per_m * length for length in taken_m]))

    @property
    def drops_v(self) -> tuple[float, ...]:
        """Volts that the cable to each feed point takes."""
        return tuple(self.tape.cable_ohm * amps for amps in self.cable_a)

    @cached_property
    def profile(self) -> Profile:
        """Volts (below those where the cables begin, so negative) and amperes along the tape."""
        fed = dict(zip(self.tape.points_m, (-drop for drop in self.drops_v), strict=True))
        r, i, pieces = self.tape.ohm_per_m, self.amps_per_m, self.tape.pieces
        places: list[float] = []
        volts: list[float] = []
        amps: list[float] = []
        least = inf
        for start, end in pieces:
            length = end - start
            if start in fed and end in fed:
                entering, first_v = i * length / 2 + (fed[start] - fed[end]) / (r * length), fed[start]
            elif start in fed:
                entering, first_v = i * length, fed[start]
            else:
                entering, first_v = 0.0, fed[end] - r * i * length**2 / 2
            lowest_m = min(max(entering / i, 0.0), length)
            least = min(least, first_v - r * (entering * lowest_m - i * lowest_m**2 / 2))
            for x in _places(length, len(pieces)):
                places.append(start + x)
                volts.append(first_v - r * (entering * x - i * x * x / 2))
                amps.append(entering - i * x)
        return Profile(tuple(places), tuple(volts), tuple(amps), least)


def _places(length_m: float, pieces: int) -> list[float]:
    """Evenly spaced places on a piece, both ends among them."""
    steps = max((SAMPLES - 1) // pieces, 2)
    return [length_m * step / steps for step in range(steps + 1)]


def _tridiagonal(own: Sequence[float], beside: Sequence[float], right: Sequence[float]) -> list[float]:
    """Solution of a symmetric system of three diagonals, by elimination."""
    pivots, found = [own[0]], [right[0]]
    for i, off in enumerate(beside):
        factor = off / pivots[i]
        pivots.append(own[i + 1] - factor * off)
        found.append(right[i + 1] - factor * found[i])
    found[-1] /= pivots[-1]
    for i in range(len(beside) - 1, -1, -1):
        found[i] = (found[i] - beside[i] * found[i + 1]) / pivots[i]
    return found
