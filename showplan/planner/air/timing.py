"""The way of a frame from the feed to one node, part by part, and how long it takes."""

import math
from collections.abc import Sequence
from itertools import pairwise

from showplan.physics.contention import Contention
from showplan.physics.retries import mean_attempts
from showplan.planner.air.feed import FeedTimes
from showplan.planner.air.packets import Packets
from showplan.planner.air.radio import Radio
from showplan.planner.air.results import Latency, TimePart
from showplan.planner.air.sending import LEAST_SHARE, Group, way_of
from showplan.planner.scene_traffic import Feed

QUANTILES = ((0.50, 0.0), (0.95, 1.6449), (0.99, 2.3263))  # of the normal distribution


def parts_to(
    radio: Radio,
    packets: Packets,
    feed: tuple[Feed, FeedTimes],
    group: Group,
    ahead_ms: float,
    contention: Contention,
    sent_hz: float,
    label: str,
) -> tuple[TimePart, ...]:
    """The parts for one node; `ahead_ms` is what its gateway sends before its group's packets. Empty without a way."""
    way = way_of(radio, packets, label)
    if len(way) < 2 or sent_hz <= 0 or not group.full.packets:
        return ()
    entered, times = feed
    traffic, hops = packets.traffic, len(way) - 1
    burst = group.full
    packet_ms, exchange_ms = burst.air_ms / burst.packets, burst.exchange_ms / burst.packets
    behind_ms = traffic.copies * (burst.exchange_ms - exchange_ms)
    wait_ms = max(contention.access_ms, packets.access_ms)
    period_ms = 1000 / sent_hz
    parts = [
        TimePart("wait for the next frame", period_ms / 2, period_ms),
        TimePart("line into the gateway", times.frame_ms, times.frame_ms),
        TimePart("held back by the bridge", entered.hold_back_ms / 2, entered.hold_back_ms),
        TimePart("packets before it", ahead_ms + behind_ms / 2, ahead_ms + behind_ms),
        TimePart("channel access", hops * wait_ms, hops * max(2 * wait_ms, packets.longest_access_ms)),
        TimePart("air time", hops * packet_ms, hops * packet_ms),
    ]
    if traffic.acknowledged:
        parts.append(_retries(radio, packets, way, exchange_ms))
    if traffic.relaying == "repeated" and hops > 1:
        relays = hops - 1
        parts.append(TimePart("jitter of the relays", relays * traffic.jitter_ms / 2, relays * traffic.jitter_ms))
    return tuple(part for part in parts if part.longest_ms > 0)


def _retries(radio: Radio, packets: Packets, way: tuple[int, ...], exchange_ms: float) -> TimePart:
    """Further tries on the way; each lasts an exchange and the wait in vain."""
    one_ms, retries = exchange_ms + packets.failure_ms, packets.traffic.retries
    extra = 0.0
    for sender, receiver in pairwise(way):
        share = max(float(radio.delivery[sender, receiver]), LEAST_SHARE)
        extra += float(mean_attempts(share, 1.0, retries)) - 1
    return TimePart("further tries", extra * one_ms, (len(way) - 1) * retries * one_ms)


def latency_of(parts: Sequence[TimePart]) -> Latency | None:
    """50, 95 and 99 % of the sum, from mean and spread: independent parts, each even about its mean."""
    if not parts:
        return None
    mean_ms = sum(part.mean_ms for part in parts)
    longest_ms = sum(part.longest_ms for part in parts)
    # A part spreads evenly over twice the smaller side of its mean.
    spans = [
        2 * min(part.longest_ms - part.mean_ms, part.mean_ms) if part.longest_ms > part.mean_ms else 0.0
        for part in parts
    ]
    sigma_ms = math.sqrt(sum(span**2 / 12 for span in spans))
    return Latency(*(min(mean_ms + z * sigma_ms, longest_ms) for _, z in QUANTILES))
