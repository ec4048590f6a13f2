"""Parts of the Scene on what the show does: timelines, which give slots their levels."""

from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass

from showplan.planner.scene_types import STRICT, Label
from showplan.planner.timelines import Changes, changes_of, mean_level_of, rows_of
from showplan.timelines import LONGEST_TEXT


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Timeline:
    """Which slot has which level from when on: `rows` of time in s, slot and level, `12.5,3,255;12.5,4,0;...`.

    A slot is at level 0 until its first row; the last row ends the timeline. Everything else follows from the rows and
    is worked out once for each text (`timelines.py`), so a plan after a move does not look at them again.
    """

    name: Label
    rows: Annotated[str, Field(max_length=LONGEST_TEXT)]

    @property
    def duration_s(self) -> float:
        """Time of the last row in s, 0 where there is none."""
        times_s = rows_of(self.rows).time_s
        return float(times_s[-1]) if times_s.size else 0.0

    @property
    def slots(self) -> frozenset[int]:
        """The slots that get a level."""
        return frozenset(rows_of(self.rows).slot.tolist())

    def mean_level(self, slot: int) -> float:
        """The slot's level as a mean over the timeline, 0 to 1; 0 for a slot that gets none.

        Where the timeline has no duration it is the last level.
        """
        return mean_level_of(self.rows, slot)

    def changes(self, slots: frozenset[int], refresh_hz: float) -> Changes:
        """What share of these slots changes from frame to frame at so many frames a second."""
        return changes_of(self.rows, slots, refresh_hz)
