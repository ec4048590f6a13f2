"""What fills a network's radio channel besides itself: the venue's other networks, and radio that was there before."""

from collections.abc import Iterable
from dataclasses import dataclass

from showplan.planner.air.radio import SENSING_OVER_SENSITIVITY_DB, Radio
from showplan.planner.obstacles import HouseState
from showplan.planner.reception import busy_share_of, interference_of


@dataclass(frozen=True)
class Traffics:
    """What a network brings to its radio channel: senders, packets a second in all, share of the time."""

    network: str
    low_mhz: float
    high_mhz: float
    senders: int
    packets_per_s: float
    utilisation: float

    def overlaps(self, other: "Traffics") -> bool:
        """Whether two networks share spectrum."""
        return self.low_mhz < other.high_mhz and other.low_mhz < self.high_mhz


def taken_share(radio: Radio, state: HouseState) -> float:
    """Share of the time in which radio already in the venue makes the channel busy; unmeasured radio does not."""
    threshold_dbm = radio.phy.required_sensitivity_dbm + SENSING_OVER_SENSITIVITY_DB
    quiet = 1.0
    for other in radio.scene.occupied_spectrum:
        level_dbm = interference_of(other, radio.links.frequency_mhz, radio.phy.noise_bandwidth_mhz, state)
        if level_dbm is not None and level_dbm >= threshold_dbm:
            quiet *= 1 - busy_share_of(other, state)
    return 1 - quiet


def beside(own: Traffics, every: Iterable[Traffics]) -> list[Traffics]:
    """The other networks on the same radio channel; all their senders count as heard everywhere."""
    return [other for other in every if other.network != own.network and own.overlaps(other)]
