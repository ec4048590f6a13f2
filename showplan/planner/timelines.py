"""What follows from a timeline's rows: mean levels, and how many slots change from frame to frame."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from showplan.timelines import HIGHEST_LEVEL, Rows, read_rows

ROUNDING: Final = 1e-9  # a row at the very start of a frame belongs to it
OFTEN: Final = 0.95
TEXTS_KEPT: Final = 32
GROUPS_KEPT: Final = 4096
CUES_TOLD: Final = 10


@dataclass(frozen=True)
class Cue:
    """A frame in which slots change: when it begins, and the share of the slots, 0 to 1."""

    at_s: float
    share: float


@dataclass(frozen=True)
class Changes:
    """Shares, 0 to 1, of some slots that change in a frame.

    `mean` over the whole timeline, `p95` of the seconds have no more, `peak` in the busiest second, which begins at
    `peak_at_s`. `cues` counts the frames in which anything changes, `largest_cues` are those that change most.
    """

    mean: float = 0.0
    p95: float = 0.0
    peak: float = 0.0
    peak_at_s: float = 0.0
    cues: int = 0
    largest_cues: tuple[Cue, ...] = ()

    @property
    def largest(self) -> float:
        """The share of the largest cue."""
        return self.largest_cues[0].share if self.largest_cues else 0.0


@lru_cache(maxsize=TEXTS_KEPT)
def rows_of(text: str) -> Rows:
    """The rows of a text, read once. Raises RowFault."""
    return read_rows(text)


@lru_cache(maxsize=TEXTS_KEPT)
def _mean_levels(text: str) -> dict[int, float]:
    rows = rows_of(text)
    if not rows.slot.size:
        return {}
    end_s = float(rows.time_s[-1])
    found = {}
    for slot in np.unique(rows.slot):
        its = rows.slot == slot
        times_s, levels = rows.time_s[its], rows.level[its] / HIGHEST_LEVEL
        if end_s == 0:
            found[int(slot)] = float(levels[-1])
        else:
            found[int(slot)] = float(np.diff(times_s, append=end_s) @ levels) / end_s
    return found


def mean_level_of(text: str, slot: int) -> float:
    """Mean level of a slot over the timeline, 0 to 1."""
    return _mean_levels(text).get(slot, 0.0)


@lru_cache(maxsize=TEXTS_KEPT)
def _real_changes(text: str) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Times in s and slots of the rows that give a slot another level than it had."""
    rows = rows_of(text)
    by_slot = np.lexsort((rows.time_s, rows.slot))
    slots, levels = rows.slot[by_slot], rows.level[by_slot]
    before = np.concatenate(([0], levels[:-1]))
    before[np.flatnonzero(np.diff(slots, prepend=-1))] = 0  # dark until its first row
    changed = by_slot[levels != before]
    return rows.time_s[changed], rows.slot[changed]


@lru_cache(maxsize=GROUPS_KEPT)
def changes_of(text: str, slots: frozenset[int], refresh_hz: float) -> Changes:
    """The shares of these slots; several changes of a slot within one frame count once.

    refresh_hz > 0. The part of a second that is left at the end counts as a second; where a frame takes longer than a
    second, frames stand for seconds.
    """
    times_s, changed = _real_changes(text)
    its = np.isin(changed, list(slots))
    if not its.any():
        return Changes()
    frames = np.floor(times_s[its] * refresh_hz + ROUNDING).astype(np.int64)
    pairs = np.unique(np.stack((frames, changed[its])), axis=1)[0]  # one for each slot and frame
    window_s = max(1.0, 1 / refresh_hz)
    windows = np.floor(pairs / refresh_hz / window_s + ROUNDING).astype(np.int64)
    count = max(int(np.ceil(rows_of(text).time_s[-1] / window_s)), int(windows[-1]) + 1)
    shares = np.minimum(np.bincount(windows, minlength=count) / (refresh_hz * window_s) / len(slots), 1.0)
    frame, in_frame = np.unique(pairs, return_counts=True)
    largest = np.argsort(-in_frame, kind="stable")[:CUES_TOLD]
    return Changes(
        mean=float(shares.mean()),
        p95=float(np.quantile(shares, OFTEN, method="higher")),
        peak=float(shares.max()),
        peak_at_s=float(np.argmax(shares) * window_s),
        cues=len(in_frame),
        largest_cues=tuple(Cue(float(frame[i] / refresh_hz), float(in_frame[i] / len(slots))) for i in largest),
    )
