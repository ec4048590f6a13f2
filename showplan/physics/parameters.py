"""Parameters that several formulas share, so that their limits are stated once."""

from typing import Any, Final

from showplan.physics.constants import NEAREST_DISTANCE_M
from showplan.physics.registry import Parameter

_POWER_DBM: Final[dict[str, Any]] = {"minimum": -1000, "maximum": 1000, "low": -200, "high": 60}
_LEVEL_DB: Final[dict[str, Any]] = {"minimum": -1000, "maximum": 1000, "low": -300, "high": 300}

FREQUENCY_MHZ: Final = Parameter("frequency_mhz", "MHz", "radio frequency", above=0, maximum=1e6, low=100, high=6000)
DISTANCE_M: Final = Parameter(
    "distance_m",
    "m",
    "length of the path, clamped to 1 m and more",
    low=NEAREST_DISTANCE_M,
    minimum=0,
    maximum=1e9,
)


def power_parameter(name: str, meaning: str) -> Parameter:
    """A power in dBm, expected between -200 and 60."""
    return Parameter(name, "dBm", meaning, **_POWER_DBM)


def level_parameter(name: str, meaning: str, default: float | None = None) -> Parameter:
    """A ratio in dB that may have either sign, expected between -300 and 300."""
    return Parameter(name, "dB", meaning, default=default, **_LEVEL_DB)


def loss_parameter(name: str, meaning: str, default: float | None = None) -> Parameter:
    """A loss in dB, zero or more, expected up to 300."""
    return Parameter(name, "dB", meaning, default=default, minimum=0, maximum=1000, high=300)


def gain_parameter(name: str, meaning: str) -> Parameter:
    """An antenna gain in dBi, expected between -30 and 30."""
    return Parameter(name, "dBi", meaning, minimum=-100, maximum=100, low=-30, high=30)
