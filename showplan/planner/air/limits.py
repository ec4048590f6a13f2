"""What caps the refresh rate of a network: the feed, its gateways, the air, the region's time limit, the buffer."""

import numpy as np
from numpy.typing import NDArray

from showplan.planner.air.feed import FeedTimes
from showplan.planner.air.packets import Packets
from showplan.planner.air.radio import Radio
from showplan.planner.air.results import RateLimit
from showplan.planner.air.sending import Sending
from showplan.planner.region_limits import Use, sending_rule, time_limit_in_words
from showplan.planner.scene_traffic import Feed

Floats = NDArray[np.float64]
BOUNDLESS_HZ = 1000.0  # a frame a millisecond: nothing of the network's own holds it down


def sending_limits(radio: Radio) -> tuple[Floats, dict[str, str]]:
    """(n,) largest share of the time that the region lets each node send, and the limit in words by node type."""
    shares: dict[str, float] = {}
    words: dict[str, str] = {}
    for name in {node.node_type for node in radio.nodes}:
        node_type = radio.scene.node_type(name)
        use = Use(radio.network, radio.phy, radio.links.frequency_mhz, (node_type,))
        rule = sending_rule(radio.scene.venue.region, use, node_type)
        shares[name] = rule.sending_share if rule else 1.0
        words[name] = time_limit_in_words(rule) if rule else "no limit is listed"
    return np.array([shares[node.node_type] for node in radio.nodes]), words


def rate_limits(
    radio: Radio, packets: Packets, sending: Sending, feed: Feed, times: FeedTimes, occupied: Floats, region: Floats
) -> tuple[RateLimit, ...]:
    """Every limit, the tightest first. `occupied` (n,): share of the time that others fill for each node."""
    limits = [RateLimit("feed", times.most_hz, _feed_words(feed, times))]
    if packets.levels <= 0 and radio.use.by_node:
        limits.append(RateLimit("gateway", 0.0, "a packet has no room for a single level"))
    own_ms = float(sending.channel_ms[radio.is_gateway].max(initial=0.0))
    if own_ms:
        reason = f"a gateway's own packets of one frame take {own_ms:.1f} ms with waiting"
        limits.append(RateLimit("gateway", 1000 / own_ms, reason))
    limits += _air(radio, sending, occupied)
    limits += _duty(radio, sending, region)
    limits += _buffer(packets, feed, times)
    return tuple(sorted(limits, key=lambda limit: limit.hz))


def _feed_words(feed: Feed, times: FeedTimes) -> str:
    line = f"{feed.baud:,} baud" if feed.kind == "serial" else f"ANSI {feed.kind.upper()}"
    asked = f", sent {feed.rate_hz:g} times a second" if feed.rate_hz else ""
    return f"{feed.slots} slots over {line} take {times.frame_ms:.1f} ms{asked}"


def _air(radio: Radio, sending: Sending, occupied: Floats) -> list[RateLimit]:
    """The node whose channel is fullest: everything that it hears of the frame goes one after the other."""
    cycle_ms = sending.channel_ms @ radio.hears
    if not cycle_ms.size or not cycle_ms.max():
        return []
    per_node = 1000 * (1 - occupied) / np.maximum(cycle_ms, 1e-9)
    fullest = int(np.argmin(per_node))
    reason = f"{radio.links.labels[fullest]} hears {cycle_ms[fullest]:.1f} ms of channel time for each frame"
    if occupied[fullest] > 0:
        reason += f", and others fill {occupied[fullest]:.0%} of the time"
    return [RateLimit("air", float(per_node[fullest]), reason)]


def _duty(radio: Radio, sending: Sending, region: Floats) -> list[RateLimit]:
    own_ms = sending.air_ms + sending.answer_ms
    limited = (region < 1) & (own_ms > 0)
    if not limited.any():
        return []
    rates = np.where(limited, 1000 * region / np.maximum(own_ms, 1e-9), np.inf)
    worst = int(np.argmin(rates))
    reason = (
        f"{radio.links.labels[worst]} sends {own_ms[worst]:.2f} ms a frame and may send {region[worst]:.3g} of the time"
    )
    return [RateLimit("duty", float(rates[worst]), reason)]


def _buffer(packets: Packets, feed: Feed, times: FeedTimes) -> list[RateLimit]:
    if times.waiting_octets(packets.longest_access_ms) <= feed.buffer_octets:
        return []
    hz = 1000 * feed.buffer_octets / (times.frame_octets * packets.longest_access_ms)
    reason = (
        f"the gateway's buffer of {feed.buffer_octets} octets must last {packets.longest_access_ms:.1f} ms of waiting"
    )
    return [RateLimit("buffer", min(hz, times.most_hz), reason)]
