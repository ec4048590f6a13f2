"""Parameters that the formulas on power share, so that their limits are stated once."""

from typing import Final

from showplan.physics.registry import Parameter

CURRENT_A: Final = Parameter("current_a", "A", "current", None, 0, 100, 0, 1e4)
AMBIENT_C: Final = Parameter("ambient_c", "°C", "temperature of the air", None, -20, 60, -100, 200)
DUTY: Final = Parameter("duty", "", "share of the time that it is on", None, 0, 1, 0, 1)
SUPPLY_V: Final = Parameter("supply_v", "V", "voltage that feeds it", None, 3, 60, maximum=1000, above=0)
RATED_V: Final = Parameter("rated_v", "V", "voltage that the figures of the load hold for", None, 3, 60, 0, 1000)
LENGTH_M: Final = Parameter("length_m", "m", "length", None, 0, 100, 0, 1e4)


def positive(name: str, unit: str, meaning: str, low: float, high: float, default: float | None = None) -> Parameter:
    """A parameter above 0, expected between `low` and `high`."""
    return Parameter(name, unit, meaning, default, low, high, maximum=1e12, above=0)


def not_negative(name: str, unit: str, meaning: str, high: float, default: float | None = None) -> Parameter:
    """A parameter of 0 or more, expected up to `high`."""
    return Parameter(name, unit, meaning, default, 0, high, 0, 1e12)


def share(name: str, meaning: str, default: float | None = None) -> Parameter:
    """A share, 0 to 1."""
    return Parameter(name, "", meaning, default, 0, 1, 0, 1)


def positive_share(name: str, meaning: str, default: float | None = None) -> Parameter:
    """A share above 0, up to 1."""
    return Parameter(name, "", meaning, default, 0.01, 1, maximum=1, above=0)
