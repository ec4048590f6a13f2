"""How a long computation tells how far it is, and learns that nobody wants it any more."""

from typing import Protocol


class CannotCompute(ValueError):
    """What was asked cannot be computed for this Scene; the text says why and what would do."""


class Watch(Protocol):
    """What a long computation is given to talk to. It may be called as often as is convenient."""

    def progress(self, done: float, doing: str, best: float | None = None, bound: float | None = None) -> None:
        """`done` from 0 to 1; `doing` in plain words; the best value found so far, and what no answer can beat."""

    def is_cancelled(self) -> bool:
        """Whether to stop: return what there is by now, at once, or be ended two seconds later."""


class Unwatched:
    """Nobody listens, nobody cancels."""

    def progress(self, done: float, doing: str, best: float | None = None, bound: float | None = None) -> None:
        """Say it to nobody."""

    def is_cancelled(self) -> bool:
        """Never."""
        return False
