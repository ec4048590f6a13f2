"""What the planner says of the show's data on one network: frozen, with units in the names."""

from dataclasses import dataclass
from typing import Literal

from showplan.physics.contention import Contention
from showplan.planner.scene_traffic import Feed, Traffic
from showplan.planner.timelines import Changes

LimitName = Literal["feed", "gateway", "air", "duty", "buffer"]


@dataclass(frozen=True)
class RateLimit:
    """One thing that caps the refresh rate: `hz` frames a second at most, in the words of `reason`."""

    name: LimitName
    hz: float
    reason: str


@dataclass(frozen=True)
class TimePart:
    """One part of the way from the feed to an output: its mean and the longest it takes, in ms."""

    name: str
    mean_ms: float
    longest_ms: float


@dataclass(frozen=True)
class Latency:
    """Time in ms from a change in the feed until the outputs follow: reached by 50, 95 and 99 % of the frames."""

    p50_ms: float
    p95_ms: float
    p99_ms: float


@dataclass(frozen=True)
class NodeAir:
    """One node on its radio channel.

    `slots` its outputs use. `packets_per_s` and `sending_share` (0 to 1) are its own sending, acknowledgements
    included; `sending_limit` is what the region lets it send, 1 without a limit. `channel_load` is the share of the
    time, 0 to 1, in which the radio channel is busy as it hears it: by itself, by what it overhears of its network
    (`overheard_share`), by other networks and other radio (`others_share`); the three may overlap. `delivery` is the
    share of frames that reach it whole, 0 where nothing reaches it; `hops` of its route, None without one.
    `longest_stale_s` is the longest time without a frame to expect in an hour of show, None where nothing arrives;
    `signal_losses_per_hour` how often its outputs act on signal loss. `buffer_needed_octets` is what its receive
    buffer must hold through the longest access.
    """

    label: str
    role: str
    slots: int
    packets_per_s: float
    sending_share: float
    sending_limit: float
    channel_load: float
    overheard_share: float
    others_share: float
    delivery: float
    hops: int | None
    latency: Latency | None
    parts: tuple[TimePart, ...]
    longest_stale_s: float | None
    signal_losses_per_hour: float
    buffer_octets: int
    buffer_needed_octets: float

    @property
    def buffer_headroom_octets(self) -> float:
        """What the buffer has left; negative: it overflows."""
        return self.buffer_octets - self.buffer_needed_octets


@dataclass(frozen=True)
class TimelineLoad:
    """What a timeline makes of a network's load: `changes` of its slots, and one frame of the show as a mean.

    The plan counts with the busiest second; `mean_packets`, `mean_air_time_ms` and `mean_utilisation` are beside it.
    """

    timeline: str
    slots: int
    changes: Changes
    mean_packets: float
    mean_air_time_ms: float
    mean_utilisation: float


@dataclass(frozen=True)
class NetworkAir:
    """The show's data on one network.

    `wanted_hz` frames a second are asked for, `refresh_hz` fit, held down by `limit`, the least of `limits`;
    `sent_hz` is the lesser of the two rates. One frame carries `slots` levels in `packets` packets; all its senders
    take `air_time_ms` on the air and, waiting included, `cycle_ms` of the channel at the node that hears most.
    `packet_levels` is what one packet holds. `utilisation` is the network's share of its radio channel, 0 to 1,
    `channel_utilisation` that of all networks there. `stream_octets_per_s` is what the feed's line carries,
    `sustained_octets_per_s` what the PHY could forward of it. `hidden_relays` are pairs that do not hear each other,
    `relay_clear` the least share of a relay's copies that no other relay's copy spoils. `energy_mj` is the radios'
    energy to send one frame. `where_the_time_goes` is the way to the node that is served last. With a timeline all
    this holds for its busiest second; `timeline` has the mean.
    """

    network: str
    phy: str
    traffic: Traffic
    feed: Feed
    is_traffic_entered: bool
    is_feed_entered: bool
    slots: int
    packets: float
    packet_levels: int
    air_time_ms: float
    cycle_ms: float
    wanted_hz: float
    refresh_hz: float
    sent_hz: float
    limit: RateLimit
    limits: tuple[RateLimit, ...]
    utilisation: float
    channel_utilisation: float
    contention: Contention
    stream_octets_per_s: float
    sustained_octets_per_s: float
    hidden_relays: tuple[tuple[str, str], ...]
    relay_clear: float
    energy_mj: float
    nodes: tuple[NodeAir, ...]
    where_the_time_goes: tuple[TimePart, ...]
    timeline: TimelineLoad | None = None

    @property
    def fits(self) -> bool:
        """Whether the rate that is asked for is reached."""
        return self.refresh_hz >= self.wanted_hz * (1 - 1e-9)

    @property
    def served(self) -> tuple[NodeAir, ...]:
        """The nodes that use slots."""
        return tuple(node for node in self.nodes if node.slots)

    def node(self, label: str) -> NodeAir:
        """The node of that label."""
        return next(node for node in self.nodes if node.label == label)
