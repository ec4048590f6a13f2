"""What share of a network's packets reaches each node: tries, copies, relays, collisions."""

import numpy as np
from numpy.typing import NDArray

from showplan.physics.contention import Contention
from showplan.physics.mac_frames import any_lost
from showplan.physics.retries import delivery_with_retries, hidden_relays_clear, jittered_relays_clear
from showplan.planner.air.packets import Packets
from showplan.planner.air.radio import Radio
from showplan.planner.air.sending import Sending, way_of

Floats = NDArray[np.float64]
MOST_HOPS = 8  # a flood is followed over so many repeats
LEAST_MISS = 1e-15  # keeps the logarithm finite


def deliveries(radio: Radio, packets: Packets, sending: Sending, contention: Contention) -> Floats:
    """(n,) share of frames that reach each node whole; gateways 1. Tries count as independent."""
    traffic = packets.traffic
    through = (1 - contention.collision_share) * (1 - contention.access_failure)
    tries = traffic.retries if traffic.acknowledged else traffic.copies - 1
    one_hop = np.asarray(delivery_with_retries(radio.delivery * through, tries))
    if traffic.relaying == "repeated":
        arrived = _flooded(radio, one_hop, relays_clear(radio, packets, sending.mean_air_ms))
    else:
        arrived = np.array([_along(way_of(radio, packets, label), one_hop) for label in radio.links.labels])
        arrived[radio.is_gateway] = 1.0
    return _whole(radio, packets, arrived)


def _along(way: tuple[int, ...], one_hop: Floats) -> float:
    return float(np.prod(one_hop[list(way[:-1]), list(way[1:])])) if len(way) > 1 else 0.0


def _whole(radio: Radio, packets: Packets, arrived: Floats) -> Floats:
    """A node whose levels are too many for one packet needs several."""
    levels = np.array([len(radio.use.by_node.get(label, ())) for label in radio.links.labels])
    needed = np.maximum(np.ceil(levels / max(packets.levels, 1)), 1)
    return np.asarray(1 - np.asarray(any_lost(1 - arrived, needed)))


def relays_clear(radio: Radio, packets: Packets, air_ms: float) -> Floats:
    """(n, n) share of a relay's copies that no other relay's copy overlaps where they arrive; 1 for other senders.

    At [relay, listener] every other relay that the listener hears counts; capture of the stronger copy does not.
    """
    clear = np.ones((len(radio.links.labels),) * 2)
    relays = np.nonzero(radio.is_relay)[0]
    if packets.traffic.relaying != "repeated" or relays.size < 2 or air_ms <= 0:
        return clear
    heard, hidden = _pair_clear(packets, air_ms)
    senses = radio.senses[np.ix_(relays, relays)]
    pairs = np.maximum(np.where(senses & senses.T, heard, hidden), LEAST_MISS)
    np.fill_diagonal(pairs, 1.0)
    disturbs = radio.hears[relays].astype(float)
    disturbs[np.arange(relays.size), relays] = 0.0  # a relay that sends itself has the packet
    clear[relays] = np.exp(np.log(pairs) @ disturbs)
    return clear


def _pair_clear(packets: Packets, air_ms: float) -> tuple[float, float]:
    """Chance that two relays do not spoil each other's copies: where they hear each other, and where not."""
    traffic, phy = packets.traffic, packets.phy
    slots = 2.0**traffic.min_be
    heard = 1 - 1 / slots
    hidden = float(hidden_relays_clear(air_ms, phy.backoff_unit_us / 1000, slots))
    blind_ms = min(phy.turnaround_us / 1000, air_ms)
    if traffic.jitter_ms > blind_ms:  # a shorter jitter helps nobody
        heard = max(heard, float(jittered_relays_clear(blind_ms, traffic.jitter_ms)))
        hidden = max(hidden, float(jittered_relays_clear(air_ms, traffic.jitter_ms)))
    return max(heard, hidden), hidden


def _flooded(radio: Radio, one_hop: Floats, clear: Floats) -> Floats:
    """Every relay repeats what it has. A node's own copies do not come back to it as news of the packet.

    The share that a sender has is worked out without the help of the node it sends to; longer loops are left in.
    """
    backbone = np.nonzero(radio.is_gateway | radio.is_relay)[0]
    links = one_hop[backbone] * clear[backbone]
    inner, is_gateway = links[:, backbone], radio.is_gateway[backbone]
    has = np.repeat(is_gateway[:, None].astype(float), backbone.size, axis=1)
    miss = np.maximum(1 - has * inner, LEAST_MISS)
    for _ in range(min(backbone.size, MOST_HOPS)):
        logs = np.log(miss)
        has = 1 - np.exp(logs.sum(axis=0)[:, None] - logs.T)
        has[is_gateway] = 1.0
        miss = np.maximum(1 - np.clip(has, 0, 1) * inner, LEAST_MISS)
    arrived = 1 - miss.prod(axis=0)
    arrived[is_gateway] = 1.0
    everywhere: Floats = 1 - (1 - arrived[:, None] * links).prod(axis=0)
    everywhere[backbone] = arrived
    return everywhere
