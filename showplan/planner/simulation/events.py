"""Compiled: the random numbers, and the heap of coming events."""

import math

import numpy as np

from showplan.planner.simulation.compiled import compiled
from showplan.planner.simulation.world import HEAP_SIZE, OVERFLOWN, World


@compiled
def random_bits(w: World) -> np.uint64:
    """64 random bits: SplitMix64, public domain."""
    state = w.chance[0] + np.uint64(0x9E3779B97F4A7C15)
    w.chance[0] = state
    state = (state ^ (state >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    state = (state ^ (state >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return state ^ (state >> np.uint64(31))


@compiled
def uniform(w: World) -> float:
    """From 0 up to, not including, 1."""
    return float(random_bits(w) >> np.uint64(11)) * (1.0 / 9007199254740992.0)


@compiled
def exponential(w: World) -> float:
    """Of mean 1."""
    return -math.log1p(-uniform(w))


@compiled
def below_power_of_two(w: World, exponent: int) -> int:
    """A whole number from 0 to 2^exponent - 1."""
    if exponent == 0:
        return 0
    return int(random_bits(w) >> np.uint64(64 - exponent))


@compiled
def push(w: World, time_ns: int, kind: int, what: int, argument: int) -> None:
    """Let an event of this kind happen; `what` and `argument` are from 0 to 2^31 - 1."""
    at = w.control[HEAP_SIZE]
    if at == len(w.heap_keys):
        w.control[OVERFLOWN] = 1
        return
    w.control[HEAP_SIZE] = at + 1
    key, payload = time_ns * 16 + kind, (what << 32) | argument
    while at > 0:
        above = (at - 1) >> 1
        if w.heap_keys[above] <= key:
            break
        w.heap_keys[at], w.heap_what[at] = w.heap_keys[above], w.heap_what[above]
        at = above
    w.heap_keys[at], w.heap_what[at] = key, payload


@compiled
def take_first(w: World) -> tuple[int, int]:
    """Key and payload of the next event, which leaves the heap; the heap must not be empty."""
    first_key, first_what = w.heap_keys[0], w.heap_what[0]
    size = w.control[HEAP_SIZE] - 1
    w.control[HEAP_SIZE] = size
    key, payload = w.heap_keys[size], w.heap_what[size]
    at, below = 0, 1
    while below < size:
        if below + 1 < size and w.heap_keys[below + 1] < w.heap_keys[below]:
            below += 1
        if key <= w.heap_keys[below]:
            break
        w.heap_keys[at], w.heap_what[at] = w.heap_keys[below], w.heap_what[below]
        at, below = below, 2 * below + 1
    w.heap_keys[at], w.heap_what[at] = key, payload
    return first_key, first_what
