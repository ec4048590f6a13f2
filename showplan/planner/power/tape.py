"""A tape as a distributed load, fed at any points, each by a cable of its own: exact for loads that are linear in u.

Affine loads (LED strings, resistive ones with threshold 0) follow u'' = b^2 u with u = V - threshold, so a tape is an
admittance; at constant current the voltages are parabolas; at constant power see `power_tape`.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
LONGEST = 300.0  # attenuation lengths; further out a tape is dark, and cosh would overflow
SAMPLES = 9  # of a piece of tape, for the line diagram


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
        marks = sorted({0.0, *self.points_m, self.length_m})
        return tuple(pairwise(marks))


@dataclass(frozen=True)
class Profile:
    """Along a tape: place in m from its start, volts, and amperes that flow there towards its end (negative: back)."""

    place_m: Floats
    volts: Floats
    amps: Floats
    least_v: float


@dataclass(frozen=True)
class AffineTape:
    """A tape whose every metre takes `siemens_per_m` (V - `threshold_v`). All figures per volt of u at its terminal."""

    tape: Tape
    siemens_per_m: float
    threshold_v: float

    @property
    def wave_siemens(self) -> float:
        """Admittance of an endless tape."""
        return float(np.sqrt(self.siemens_per_m / self.tape.ohm_per_m))

    @property
    def per_m(self) -> float:
        """Attenuation b, 1/m."""
        return float(np.sqrt(self.siemens_per_m * self.tape.ohm_per_m))

    def points(self) -> tuple[Floats, Floats]:
        """(u, current) at each feed point for 1 V of u where its cables begin."""
        admittance = self._matrix()
        u = np.linalg.solve(np.eye(len(admittance)) + self.tape.cable_ohm * admittance, np.ones(len(admittance)))
        return u, admittance @ u

    def siemens(self) -> float:
        """Admittance seen where its cables begin."""
        if len(self.tape.points_m) == 1:
            [at_m] = self.tape.points_m
            ends = np.tanh(self.per_m * np.array([at_m, self.tape.length_m - at_m])).sum()
            admittance = self.wave_siemens * float(ends)
            return admittance / (1 + self.tape.cable_ohm * admittance)
        return float(self.points()[1].sum())

    def _matrix(self) -> Floats:
        """Currents into the tape at its feed points for the voltages u there."""
        points = np.array(self.tape.points_m)
        between = np.minimum(self.per_m * np.diff(points), LONGEST)
        found = np.zeros((len(points), len(points)))
        ends = np.array([points[0], self.tape.length_m - points[-1]])
        for at, end in zip((0, -1), np.tanh(self.per_m * ends), strict=True):
            found[at, at] += end
        for i, angle in enumerate(between):
            own, other = 1 / np.tanh(angle), 1 / np.sinh(angle)
            found[i : i + 2, i : i + 2] += [[own, -other], [-other, own]]
        return self.wave_siemens * found

    def profile(self, terminal_v: float, samples: int = SAMPLES) -> Profile:
        """Volts and amperes along the tape with so many volts where its cables begin; dark below the threshold."""
        above = max(terminal_v - self.threshold_v, 0.0)
        at_points = dict(zip(self.tape.points_m, self.points()[0] * above, strict=True))
        places, u, amps, least = [], [], [], above
        for start, end in self.tape.pieces:
            x = np.linspace(0.0, end - start, samples)
            angle, whole = self.per_m * x, min(self.per_m * (end - start), LONGEST)
            # u = p cosh(bx) + q sinh(bx) from the piece's start; an open end has no slope
            if start in at_points and end in at_points:
                p = at_points[start]
                q = (at_points[end] - p * np.cosh(whole)) / np.sinh(whole)
            elif start in at_points:
                p, q = at_points[start], -at_points[start] * np.tanh(whole)
            else:
                p, q = at_points[end] / np.cosh(whole), 0.0
            angle = np.minimum(angle, LONGEST)
            places.append(start + x)
            u.append(p * np.cosh(angle) + q * np.sinh(angle))
            amps.append(-self.wave_siemens * (p * np.sinh(angle) + q * np.cosh(angle)))
            lowest = np.arctanh(-q / p) if p > 0 and abs(q) < p else np.inf
            inside = 0 < lowest < whole
            least = min(least, float(np.sqrt(p * p - q * q)) if inside else float(u[-1].min()))
        volts = np.concatenate(u) + min(terminal_v, self.threshold_v)
        return Profile(np.concatenate(places), volts, np.concatenate(amps), least + min(terminal_v, self.threshold_v))

    def mean_above(self) -> float:
        """Mean of u over the tape for 1 V of it at the terminal."""
        return self.siemens() / (self.siemens_per_m * self.tape.length_m)


@dataclass(frozen=True)
class SteadyTape:
    """A tape whose every metre takes `amps_per_m` whatever the voltage."""

    tape: Tape
    amps_per_m: float

    def drops_v(self) -> Floats:
        """Volts that each cable to a feed point takes."""
        points, tape = np.array(self.tape.points_m), self.tape
        lengths = np.diff(points)
        taken = np.zeros(len(points))
        taken[0] += points[0]
        taken[-1] += tape.length_m - points[-1]
        taken[:-1] += lengths / 2
        taken[1:] += lengths / 2
        network = np.eye(len(points))
        for i, length in enumerate(lengths):
            share = tape.cable_ohm / (tape.ohm_per_m * length)
            network[i : i + 2, i : i + 2] += [[share, -share], [-share, share]]
        drops: Floats = np.linalg.solve(network, tape.cable_ohm * self.amps_per_m * taken)
        return drops

    def profile(self, terminal_v: float, samples: int = SAMPLES) -> Profile:
        """Volts and amperes along the tape with so many volts where its cables begin."""
        at_points = dict(zip(self.tape.points_m, terminal_v - self.drops_v(), strict=True))
        r, i = self.tape.ohm_per_m, self.amps_per_m
        places, volts, amps, least = [], [], [], terminal_v
        for start, end in self.tape.pieces:
            length = end - start
            if start in at_points and end in at_points:
                entering = i * length / 2 + (at_points[start] - at_points[end]) / (r * length)
                first = at_points[start]
            elif start in at_points:
                entering, first = i * length, at_points[start]
            else:
                entering, first = 0.0, at_points[end] - r * i * length**2 / 2
            x = np.linspace(0.0, length, samples)
            places.append(start + x)
            volts.append(first - r * (entering * x - i * x * x / 2))
            amps.append(entering - i * x)
            lowest_m = min(max(entering / i, 0.0), length)
            least = min(least, first - r * (entering * lowest_m - i * lowest_m**2 / 2), float(volts[-1].min()))
        return Profile(np.concatenate(places), np.concatenate(volts), np.concatenate(amps), float(least))
