"""What each node sends for one frame of the show: packets, air time, and channel time with the waiting."""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from showplan.physics.retries import acknowledged_with_retries, mean_attempts
from showplan.planner.air.packets import Burst, Packets
from showplan.planner.air.radio import Radio
from showplan.planner.air.slots import groups_of

Floats = NDArray[np.float64]
LEAST_SHARE = 1e-6  # a link that delivers less is tried as often as one that delivers this


@dataclass(frozen=True)
class Group:
    """Nodes that share packets, the bursts that carry their levels, and who sends them.

    `mean` is the mean of the frames, in the busiest second where a timeline tells; `over_show` that of all frames;
    `full` carries every level.
    """

    labels: tuple[str, ...]
    levels: int
    mean: Burst
    over_show: Burst
    full: Burst
    senders: tuple[int, ...]


@dataclass(frozen=True)
class Sending:
    """One frame, arrays (n,) by node: packets, `air_ms` of packets, `answer_ms` of acknowledgements, `channel_ms`.

    `channel_ms` is what a node's exchanges take of the channel, waiting and the answers it gets included;
    `answered_ms` the air time of those answers. `octets` is what one node's burst brings to a listener.
    """

    groups: tuple[Group, ...]
    packets: Floats
    air_ms: Floats
    answer_ms: Floats
    answered_ms: Floats
    channel_ms: Floats
    octets: float

    @property
    def mean_air_ms(self) -> float:
        """Mean air time of a packet; 0 where none is sent."""
        packets = float(self.packets.sum())
        return float(self.air_ms.sum()) / packets if packets else 0.0


def sending_of(radio: Radio, packets: Packets, *, over_show: bool = False) -> Sending:
    """Who sends what for one frame: of the busiest second where a timeline tells, or as a mean `over_show`."""
    traffic, n = packets.traffic, len(radio.links.labels)
    groups = tuple(_group(radio, packets, labels) for labels in groups_of(traffic, radio.nodes, radio.use))
    if over_show:
        groups = tuple(replace(group, mean=group.over_show) for group in groups)
    total = _Totals(*(np.zeros(n) for _ in range(5)))
    for group in groups:
        if traffic.acknowledged:
            _acknowledged(radio, packets, group, total)
        else:
            senders = list(group.senders)
            total.packets[senders] += traffic.copies * group.mean.packets
            total.air_ms[senders] += traffic.copies * group.mean.air_ms
            total.channel_ms[senders] += traffic.copies * group.mean.exchange_ms
    octets = sum(group.full.octets for group in groups)
    return Sending(groups, total.packets, total.air_ms, total.answer_ms, total.answered_ms, total.channel_ms, octets)


@dataclass(frozen=True)
class _Totals:
    packets: Floats
    air_ms: Floats
    answer_ms: Floats
    answered_ms: Floats
    channel_ms: Floats


def _group(radio: Radio, packets: Packets, labels: tuple[str, ...]) -> Group:
    slots = radio.use.slots_of(labels)
    levels, changes = len(slots), packets.changes(slots)
    peak, mean = (packets.burst(levels, share) for share in (changes.peak, changes.mean))
    return Group(labels, levels, peak, mean, packets.full_burst(levels), _senders(radio, packets, labels))


def _senders(radio: Radio, packets: Packets, labels: tuple[str, ...]) -> tuple[int, ...]:
    """The nodes that send a group's packets; none without a gateway."""
    if not radio.is_gateway.any():
        return ()
    match packets.traffic.relaying:
        case "repeated":
            return tuple(int(i) for i in np.nonzero(radio.is_gateway | radio.is_relay)[0])
        case "none":
            return tuple(sorted({radio.home[label] for label in labels if label in radio.home}))
        case _:
            return tuple(sorted({i for label in labels for i in radio.way(label)[:-1]}))


def way_of(radio: Radio, packets: Packets, label: str) -> tuple[int, ...]:
    """The nodes that a frame passes on its way to one node, gateway first; empty where it has no way."""
    if packets.traffic.relaying == "none":
        home = radio.home.get(label)
        return () if home is None else (home, radio.index[label])
    return radio.way(label)


def _acknowledged(radio: Radio, packets: Packets, group: Group, total: _Totals) -> None:
    """Each hop with its tries: a sender stops at the first acknowledgement it hears."""
    retries, burst = packets.traffic.retries, group.mean
    for label in group.labels:
        for sender, receiver in pairwise(way_of(radio, packets, label)):
            there = max(float(radio.delivery[sender, receiver]), LEAST_SHARE)
            back = max(float(radio.delivery[receiver, sender]) or there, LEAST_SHARE)
            tries = float(mean_attempts(there, back, retries))
            heard = float(acknowledged_with_retries(there, back, retries))
            answers = burst.packets * tries * there
            total.packets[sender] += burst.packets * tries
            total.air_ms[sender] += burst.air_ms * tries
            total.answer_ms[receiver] += answers * packets.acknowledgement_air_ms
            total.answered_ms[sender] += answers * packets.acknowledgement_air_ms
            waited_ms = heard * packets.acknowledgement_ms + (tries - heard) * packets.failure_ms
            total.channel_ms[sender] += burst.exchange_ms * tries + burst.packets * waited_ms
