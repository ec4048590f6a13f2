"""The clock, the watcher and the best set of a search."""

import time
from dataclasses import dataclass, field

from showplan.planner.relays.answer import RelayPlacement
from showplan.planner.relays.watch import Settings, Watch

TELL_S = 0.7


class Stopped(Exception):
    """The search is to end with what it has."""


@dataclass(eq=False)
class Ticker:
    """Tells the watcher about once a second, hears a cancel, and knows when time is up."""

    watch: Watch
    settings: Settings
    best: RelayPlacement | None = None
    bound: float = 0.0
    done: float = 0.0
    is_cancelled: bool = False
    _start_s: float = field(default_factory=time.monotonic)
    _told_s: float = -1e9
    _end_s: float | None = None

    def seconds_left(self) -> float:
        """Until the whole search, or the part of it that has a share of the time, has to end."""
        if self.is_cancelled:
            return 0.0
        end = self._start_s + self.settings.seconds
        return min(end, self._end_s if self._end_s is not None else end) - time.monotonic()

    def share(self, share: float | None) -> None:
        """Give the part that follows this share of the time still left; None: all of it."""
        self._end_s = None
        if share is not None:
            self._end_s = time.monotonic() + share * max(self.seconds_left(), 0.0)

    def tick(self, doing: str, done: float | None = None) -> bool:
        """Tell if it is time; whether to stop."""
        if done is not None:
            self.done = max(self.done, min(done, 1.0))
        now = time.monotonic()
        if now - self._told_s >= TELL_S:
            self._told_s = now
            self.watch.progress(self.done, doing, self.best, self.bound)
        self.is_cancelled = self.is_cancelled or self.watch.is_cancelled()
        return self.is_cancelled or self.seconds_left() <= 0

    def tell(self, doing: str, done: float | None = None) -> bool:
        """Tell now; whether to stop."""
        self._told_s = -1e9
        return self.tick(doing, done)
