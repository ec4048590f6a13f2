"""Does the power last, safely? From the battery to the far end of the tape."""

from showplan.planner.power.planned import power_of
from showplan.planner.power.results import (
    NodePower,
    OutputPower,
    ScenePower,
    SupplyPower,
)

__all__ = ["NodePower", "OutputPower", "ScenePower", "SupplyPower", "power_of"]
