"""Compiled: packets under way, from when they are made to the last place where a copy waits."""

import math

from showplan.planner.simulation.compiled import compiled
from showplan.planner.simulation.world import (
    DELIVERED,
    FREE_SLOTS,
    NO_REASON,
    OCTAVES,
    OVERFLOWN,
    RELAYS,
    STEPS,
    TOO_WEAK,
    UNDER_WAY,
    World,
)


@compiled
def make_packet(w: World, now_ns: int, template: int) -> int:
    """The slot of a new packet, or -1 where there is no room (the run is then repeated with more)."""
    free = w.control[FREE_SLOTS]
    if free == 0:
        w.control[OVERFLOWN] = 1
        return -1
    w.control[FREE_SLOTS] = free - 1
    w.control[UNDER_WAY] += 1
    number = w.free[free - 1]
    slot, c = w.slots[number], w.constants[0]
    slot.template, slot.made_ns, slot.uses = template, now_ns, 0
    slot.counted = c.warm_up_ns <= now_ns < c.end_ns
    for j in range(len(w.nodes)):
        w.marks[number, j], w.reasons[number, j] = 0, NO_REASON
    return number


@compiled
def deliver(w: World, now_ns: int, number: int, j: int) -> None:
    """Node j has the packet; only the first time counts."""
    slot = w.slots[number]
    if w.wanted[slot.template, j] == 0 or w.marks[number, j] & DELIVERED:
        return
    w.marks[number, j] |= DELIVERED
    if not slot.counted:
        return
    latency_ns = now_ns - slot.made_ns
    w.counts[j].delivered += 1
    w.counts[j].latency_ns += latency_ns
    w.latencies[j, latency_bin(latency_ns)] += 1


@compiled
def latency_bin(latency_ns: int) -> int:
    """The step of the histogram; see `world.STEPS`."""
    part, octave = math.frexp(max(latency_ns / 1000.0, 1.0))
    return min((octave - 1) * STEPS + int((part - 0.5) * 2 * STEPS), STEPS * OCTAVES - 1)


@compiled
def blame_all(w: World, number: int, reason: int) -> None:
    """Every node that waits for the packet does so for this reason, until another shows."""
    template = w.slots[number].template
    for j in range(len(w.nodes)):
        if w.wanted[template, j]:
            w.reasons[number, j] = reason


@compiled
def release(w: World, number: int) -> None:
    """One place fewer has the packet; after the last its fate is counted."""
    slot = w.slots[number]
    slot.uses -= 1
    if slot.uses > 0:
        return
    template = slot.template
    if slot.counted:
        w.counts[w.templates[template].sender].packets += 1
        for j in range(len(w.nodes)):
            if w.wanted[template, j] == 0:
                continue
            w.counts[j].offered += 1
            if w.marks[number, j] & DELIVERED:
                continue
            reason = w.reasons[number, j]
            if reason == NO_REASON:
                reason = RELAYS if w.templates[template].relayed else TOO_WEAK
            w.losses[j, reason] += 1
    w.free[w.control[FREE_SLOTS]] = number
    w.control[FREE_SLOTS] += 1
    w.control[UNDER_WAY] -= 1
