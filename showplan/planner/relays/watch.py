"""How a search is watched, ended and budgeted."""

from dataclasses import dataclass
from typing import Protocol

from showplan.planner.relays.answer import RelayPlacement


class Watch(Protocol):
    """What the caller hears about a search, and how it ends one."""

    def progress(self, done: float, doing: str, best: RelayPlacement | None, bound: float) -> None:
        """`done` from 0 to 1 never falls; `doing` in plain words; the best placement yet; no placement costs less."""

    def is_cancelled(self) -> bool:
        """Whether to stop with the best so far."""


class Unwatched:
    """Nobody listens, nobody cancels."""

    def progress(self, done: float, doing: str, best: RelayPlacement | None, bound: float) -> None:
        """Say nothing."""

    def is_cancelled(self) -> bool:
        """Never."""
        return False


@dataclass(frozen=True)
class Settings:
    """Budgets. All but `seconds` count work, so the same problem gets the same answer on any machine.

    `seconds` can only end a search early; where it did, what is left unproven is said so.
    """

    seconds: float = 120.0
    seed: int = 1
    improvement_rounds: int = 400  # destroy-and-repair steps of the first search
    swaps: int = 1500  # exchanges tried for a better worst delivery, each time one is sought
    alternatives: int = 4  # further placements of the same cost
    trade_steps: int = 3  # relays beyond the fewest for which the best worst delivery is sought
