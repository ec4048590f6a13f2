"""A tape with converters of its own: every metre takes the same power, so the current grows as the voltage falls.

r p = V V''. From the far end, with s = sqrt(ln(V / V_far)): V' = sqrt(2 r p) s, and the length comes out as
V_near sqrt(2 / (r p)) D(s), D being Dawson's integral. D has a greatest value; a tape longer than that allows has no
solution: its voltage collapses.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_banded
from scipy.special import dawsn, erfi

from showplan.planner.power.tape import SAMPLES, Profile, Tape

Floats = NDArray[np.float64]
STEEPEST: Final = 0.9241388730  # where Dawson's integral is greatest
CELLS: Final = 240  # of a tape that is fed at several points
ROUNDS: Final = 60
CLOSE: Final = 1e-12


class Collapse(Exception):
    """No voltage lets the load have its power."""


@dataclass(frozen=True)
class PowerTape:
    """A tape whose every metre takes `watts_per_m`, behind `series_ohm` of fuse and switch."""

    tape: Tape
    watts_per_m: float
    series_ohm: float = 0.0

    def current_a(self, before_v: float) -> tuple[float, float]:
        """(current, its slope by voltage) with so many volts before the series resistance. Raises Collapse."""
        amps = 0.0
        for _ in range(ROUNDS):
            found, slope = self._at_terminal(before_v - self.series_ohm * amps)
            steep = 1 + self.series_ohm * slope
            if steep <= 0:
                raise Collapse
            step = (found - amps) / steep
            amps += step
            if abs(step) <= CLOSE * (1 + abs(amps)):
                return amps, slope / steep
        raise Collapse

    def profile(self, terminal_v: float, samples: int = SAMPLES) -> Profile:
        """Volts and amperes along the tape with so many volts where its cables begin. Raises Collapse."""
        if len(self.tape.points_m) > 1:
            x, volts = self._ladder(terminal_v)[:2]
            amps = -np.gradient(volts, x) / self.tape.ohm_per_m
            some = np.unique(np.linspace(0, len(x) - 1, samples * len(self.tape.pieces)).astype(int))
            return _profile(x[some], volts[some], amps[some], float(volts.min()))
        near_v = terminal_v - self.tape.cable_ohm * self._at_terminal(terminal_v)[0]
        [at_m] = self.tape.points_m
        rate = self.tape.ohm_per_m * self.watts_per_m
        places, found, amps_there = [], [], []
        for start, end in self.tape.pieces:
            s = np.linspace(self._steepness(end - start, near_v), 0.0, samples)
            far_v = near_v * np.exp(-(s[0] ** 2))
            from_far_m = far_v * np.sqrt(np.pi / (2 * rate)) * erfi(s)
            amps = np.sqrt(2 * self.watts_per_m / self.tape.ohm_per_m) * s
            outward = start >= at_m
            places.append(end - from_far_m if outward else (start + from_far_m)[::-1])
            found.append((far_v * np.exp(s * s))[:: 1 if outward else -1])
            amps_there.append(amps if outward else -amps[::-1])
        volts = np.concatenate(found)
        return _profile(np.concatenate(places), volts, np.concatenate(amps_there), float(volts.min()))

    def _steepness(self, length_m: float, near_v: float) -> float:
        """s at the fed end of a piece with an open end."""
        if near_v <= 0:
            raise Collapse
        wanted = length_m * np.sqrt(self.tape.ohm_per_m * self.watts_per_m / 2) / near_v
        if wanted >= dawsn(STEEPEST):
            raise Collapse
        low, high = 0.0, STEEPEST
        s = float(wanted)
        for _ in range(ROUNDS):
            over = float(dawsn(s)) - wanted
            low, high = (low, s) if over > 0 else (s, high)
            slope = 1 - 2 * s * float(dawsn(s))
            new = s - over / slope if slope > 0 else (low + high) / 2
            new = new if low <= new <= high else (low + high) / 2
            if abs(new - s) <= CLOSE:
                return new
            s = new
        return s

    def _at_terminal(self, terminal_v: float) -> tuple[float, float]:
        """(current, slope) where the cables begin."""
        if len(self.tape.points_m) > 1:
            return self._ladder(terminal_v)[2:]
        amps, cable_ohm = 0.0, self.tape.cable_ohm
        [at_m] = self.tape.points_m
        ends = [end for end in (at_m, self.tape.length_m - at_m) if end > 0]
        for _ in range(ROUNDS):
            near_v = terminal_v - cable_ohm * amps
            found = slope = 0.0
            for end in ends:
                s = self._steepness(end, near_v)
                found += float(np.sqrt(2 * self.watts_per_m / self.tape.ohm_per_m)) * s
                # from V D(s) = constant: ds/dV = -D / (V D')
                bend = 1 - 2 * s * float(dawsn(s))
                ds = -float(dawsn(s)) / (near_v * bend)
                slope += float(np.sqrt(2 * self.watts_per_m / self.tape.ohm_per_m)) * ds
            steep = 1 + cable_ohm * slope
            if steep <= 0:
                raise Collapse
            step = (found - amps) / steep
            amps += step
            if abs(step) <= CLOSE * (1 + abs(amps)):
                return amps, slope / steep
        raise Collapse

    def _ladder(self, terminal_v: float) -> tuple[Floats, Floats, float, float]:
        """(places, volts, current, slope) by Newton's method on cells; each cell's power sits half at either end."""
        tape = self.tape
        pieces = [
            np.linspace(start, end, max(2, round(CELLS * (end - start) / tape.length_m)) + 1)
            for start, end in tape.pieces
        ]
        x = np.unique(np.concatenate(pieces))
        width = np.diff(x)
        siemens = 1 / (tape.ohm_per_m * width)
        watts = self.watts_per_m * (np.append(width, 0) + np.insert(width, 0, 0)) / 2
        feed = np.zeros(len(x))
        feed[np.searchsorted(x, tape.points_m)] = 1 / max(tape.cable_ohm, 1e-9)
        diagonal = np.append(siemens, 0) + np.insert(siemens, 0, 0) + feed
        volts = np.full(len(x), float(terminal_v))
        bands = np.zeros((3, len(x)))
        bands[0, 1:] = bands[2, :-1] = -siemens
        for _ in range(ROUNDS):
            if volts.min() <= 0:
                raise Collapse
            flow = np.diff(volts) * siemens
            balance = feed * (terminal_v - volts) + np.append(flow, 0) - np.insert(flow, 0, 0) - watts / volts
            bands[1] = diagonal - watts / volts**2
            step = solve_banded((1, 1), bands, balance)
            volts = volts + step
            if np.abs(step).max() <= CLOSE * abs(terminal_v):
                moved = solve_banded((1, 1), bands, feed)
                if volts.min() <= 0 or moved.min() <= 0:
                    raise Collapse
                return x, volts, float((feed * (terminal_v - volts)).sum()), float((feed * (1 - moved)).sum())
        raise Collapse


def _profile(place_m: Floats, volts: Floats, amps: Floats, least_v: float) -> Profile:
    return Profile(tuple(place_m.tolist()), tuple(volts.tolist()), tuple(amps.tolist()), least_v)
