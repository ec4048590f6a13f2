"""Does the data fit? Packets, air time, channel load, refresh rate, latency and losses of each network."""

from showplan.planner.air.network import air_of
from showplan.planner.air.results import Latency, NetworkAir, NodeAir, RateLimit, TimelineLoad, TimePart

__all__ = ["Latency", "NetworkAir", "NodeAir", "RateLimit", "TimePart", "TimelineLoad", "air_of"]
