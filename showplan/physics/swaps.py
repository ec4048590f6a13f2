"""When packs are changed over a show day."""

from collections.abc import Sequence
from dataclasses import dataclass

_ROUNDING = 1e-9


@dataclass(frozen=True)
class SwapPlan:
    """Packs in order, each with the parts of the day (numbers from 0) that it feeds.

    `too_long` names the parts within a run between changes that one full pack cannot feed.
    """

    packs: tuple[tuple[int, ...], ...]
    too_long: tuple[int, ...]

    @property
    def swaps(self) -> int:
        """Changes of pack during the day."""
        return max(len(self.packs) - 1, 0)

    @classmethod
    def of(cls, shares: Sequence[float], may_change: Sequence[bool] | None = None) -> "SwapPlan":
        """Fewest packs for parts that take these shares of a full pack; each is used until the next part would not fit.

        A pack is changed before a part only, and only where `may_change` (everywhere by default). Raises ValueError for
        a negative share or lists of different length.
        """
        allowed = [True] * len(shares) if may_change is None else list(may_change)
        if len(allowed) != len(shares):
            raise ValueError(f"{len(shares)} parts but {len(allowed)} marks of where packs may be changed")
        for part, share in enumerate(shares):
            if not share >= 0:
                raise ValueError(f"part {part} takes {share:g} of a pack: give 0 or more")
        packs: list[list[int]] = []
        too_long: list[int] = []
        left = 0.0
        for run in _runs(allowed):
            needed = sum(shares[part] for part in run)
            if not packs or (needed > left + _ROUNDING and needed > 0):
                packs.append([])
                left = 1.0
            if needed > left + _ROUNDING:
                too_long += run
            packs[-1] += run
            left -= needed
        return cls(tuple(map(tuple, packs)), tuple(too_long))


def _runs(allowed: Sequence[bool]) -> list[list[int]]:
    """Parts that must share a pack, in order."""
    runs: list[list[int]] = []
    for part, may_change in enumerate(allowed):
        if may_change or not runs:
            runs.append([])
        runs[-1].append(part)
    return runs
