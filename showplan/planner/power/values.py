"""Values entered, of a preset, or assumed: the last two are marked."""

from showplan.planner.findings import Subject
from showplan.planner.power.chemistries import preset_values
from showplan.planner.power.results import Assumed
from showplan.planner.power.tables import MEMORY


class Values:
    """Takes what was entered, else what the preset says, else an assumed value; keeps account of all but the first."""

    def __init__(self, kind: str, name: str, preset: str = "") -> None:
        self.subject = Subject(kind, name)
        self.preset = preset_values(preset)
        self.assumed: list[Assumed] = []

    def of(self, field: str, entered: float | None, assumed: float, unit: str, source: str = MEMORY) -> float:
        """The value of a field in its unit."""
        if entered is not None:
            return entered
        value, source = self.preset.get(field, (assumed, source))
        self.assumed.append(Assumed(self.subject, field, value, unit, source))
        return value
