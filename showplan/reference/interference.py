"""How well receivers must reject other radio channels, and where wireless LAN sits."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from showplan.reference.standing import Standing, UnknownRadioChannel

LAN_WIDTH_MHZ: Final = 20.0  # MHz, IEEE 802.11 OFDM, 2.4 GHz; from memory
LAN_SPREAD_WIDTH_MHZ: Final = 22.0  # MHz, IEEE 802.11 direct sequence, 2.4 GHz; read on a public teaching page


@dataclass(frozen=True, slots=True)
class Rejection:
    """Least rejection in dB of a signal of the same PHY at this distance in MHz or more, and what parts reach."""

    offset_mhz: float
    required_db: float
    measured_low_db: float
    measured_high_db: float
    source: str
    standing: Standing
    note: str


_JAMMING: Final = "IEEE 802.15.4, jamming resistance of the 2450 MHz PHY, from memory"
_REJECTIONS: Final = (
    Rejection(5.0, 0.0, 27.0, 35.0, _JAMMING, "memory", "adjacent; measured range read in public data on two parts"),
    Rejection(10.0, 30.0, 47.0, 50.0, _JAMMING, "memory", "alternate; measured range read in public data on two parts"),
)

# IEEE 802.11, 2.4 GHz: 2407 + 5 k MHz for 1 to 13, then 2484 MHz; from memory
LAN_CENTRES_MHZ: Final[Mapping[int, float]] = MappingProxyType({k: 2407.0 + 5 * k for k in range(1, 14)} | {14: 2484.0})


def rejections() -> tuple[Rejection, ...]:
    """Rows by growing distance."""
    return _REJECTIONS


def lan_centre_mhz(lan_channel: int) -> float:
    """Centre in MHz of a 2.4 GHz wireless LAN channel; raises UnknownRadioChannel, which names the allowed ones."""
    if lan_channel not in LAN_CENTRES_MHZ:
        raise UnknownRadioChannel(f"2.4 GHz wireless LAN has no channel {lan_channel!r}; allowed: 1 to 14")
    return LAN_CENTRES_MHZ[lan_channel]
