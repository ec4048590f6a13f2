"""Does the power last, safely: the power of a venue's kit."""

from api.views.plans import Computed
from showplan.services.power import power_of_venue


class Power(Computed):
    """Volts, amperes, wiring, heat and light of every output, and each supply through the show day."""

    compute = staticmethod(power_of_venue)
