"""What the feed brings into a gateway: octets, rate, time of one frame, and what waits while the radio does."""

from dataclasses import dataclass

from showplan.physics.feeds import (
    e111_packet_ms,
    e131_packet_octets,
    escaping_factor,
    line_time_ms,
    serial_octets_per_s,
    stream_frames_per_s,
)
from showplan.planner.scene_traffic import Feed

UNIVERSE_SLOTS = 512
E111_OCTETS_PER_S = 1e6 / 44  # a slot takes 44 microseconds
E131_MOST_HZ = 44.0  # from memory
E131_LINK_OCTETS = 28 + 18 + 20  # IP and UDP, link, preamble and gap; partly from memory
NETWORK_OCTETS_PER_S = 12_500_000.0  # 100 Mbit/s


@dataclass(frozen=True)
class FeedTimes:
    """Octets of one frame on the line, octets a second of the line, time of one frame in ms, most frames a second."""

    frame_octets: float
    octets_per_s: float
    frame_ms: float
    most_hz: float

    def waiting_octets(self, stalled_ms: float) -> float:
        """Most octets that come in while the radio is stalled: the line's, or the frames' that are due."""
        by_line = self.octets_per_s * stalled_ms / 1000
        frames_due = int(self.most_hz * stalled_ms / 1000) + 1
        return min(by_line, frames_due * self.frame_octets)


def feed_times(feed: Feed) -> FeedTimes:
    """The times of a feed of any kind."""
    universes = -(-feed.slots // UNIVERSE_SLOTS)
    match feed.kind:
        case "e1.11":
            frame_ms = float(e111_packet_ms(min(feed.slots, UNIVERSE_SLOTS)))
            octets, per_s = float(feed.slots + universes), universes * E111_OCTETS_PER_S
            most_hz = 1000 / frame_ms
        case "e1.31":
            head = float(e131_packet_octets(0)) + E131_LINK_OCTETS
            octets, per_s = feed.slots + universes * head, NETWORK_OCTETS_PER_S
            frame_ms, most_hz = float(line_time_ms(octets, per_s)), E131_MOST_HZ
        case _:
            factor = float(escaping_factor()) if feed.escaping else 1.0
            octets = factor * (feed.slots + feed.frame_octets)
            parity_bits = 0 if feed.parity == "none" else 1
            per_s = float(serial_octets_per_s(feed.baud, feed.data_bits, parity_bits, feed.stop_bits))
            frame_ms = float(line_time_ms(octets, per_s))
            most_hz = float(stream_frames_per_s(octets, 0, per_s))
    return FeedTimes(octets, per_s, frame_ms, min(most_hz, feed.rate_hz or most_hz))
