"""How bright a load is over a part of the show day, in the mean: the one place that says so."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from showplan.planner.scene import Scene
from showplan.planner.scene_power import Load, ShowPart

SlotLevel = Callable[[str, int], float | None]
"""From a timeline's name and a slot to the slot's mean level, 0 to 1, or None where it does not say."""


@dataclass(frozen=True)
class Duty:
    """Levels entered for (part, load); what a timeline says of a slot; else the part's own level."""

    entered: Mapping[tuple[str, str], float]
    of_slot: SlotLevel = lambda timeline, slot: None

    def mean_level(self, load: Load, part: ShowPart) -> float:
        """Mean level of the load over the part, 0 to 1; nothing is on in a gap."""
        if part.kind == "gap":
            return 0.0
        entered = self.entered.get((part.name, load.label))
        if entered is not None:
            return entered
        if part.timeline is not None and load.slot is not None:
            told = self.of_slot(part.timeline, load.slot)
            if told is not None:
                return told
        return part.level

    def most_level(self, load: Load, parts: tuple[ShowPart, ...]) -> float:
        """The highest mean level of the load over a part of the day; full where no part was entered."""
        return max((self.mean_level(load, part) for part in parts), default=1.0)


def duty_of(scene: Scene) -> Duty:
    """The duty that a Scene holds."""
    timelines = {one.name: one for one in scene.timelines}

    def of_slot(timeline: str, slot: int) -> float | None:
        told = timelines[timeline]
        return told.mean_level(slot) if slot in told.slots else None

    return Duty({(one.part, one.load): one.level for one in scene.part_levels}, of_slot)
