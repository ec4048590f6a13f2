"""Is this installation fit to serve? One finding for each thing that must hold, with what to do where it does not."""

from showplan.services.doctor.checkup import CHECKS, examine
from showplan.services.doctor.diagnosis import Diagnosis

__all__ = ["CHECKS", "Diagnosis", "examine"]
