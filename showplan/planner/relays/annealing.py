"""Compiled: annealing of a set of fixed size until every node has a route.

One relay at a time moves, mostly to a site that reaches and serves much the same. A move that leaves fewer nodes
without a route is made, one that leaves more now and then, so that the set wanders on from where it got stuck. Nodes
gain weight while they have no route: else the search would settle where one node that is hard to reach is given up for
the sake of all others. Moves are the budget and chance comes from the seed, so runs repeat.

Sets are bit masks, 64 to a word: masks of nodes, and masks of places, which number the sites chosen.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from showplan.planner.relays.compiled import compiled, inlined

Whole = NDArray[np.int64]
Real = NDArray[np.float64]
Flags = NDArray[np.bool_]
Masks = NDArray[np.uint64]
WORD = 64
WARMTH = 0.45  # a move that costs so much weight is made once in e times
ANYWHERE = 0.05  # share of moves to a site that serves a node drawn by lot, wherever that is
LEARNS_EVERY = 50  # moves
LEARNS = 2e-5  # weight that a node without a route gains then
HEARS_EVERY = 1000  # moves
NONE, ONE = np.uint64(0), np.uint64(1)


class Ground(NamedTuple):
    """What does not change: the sites, what they reach, and the nodes that want a route from them."""

    reaches: Flags  # (sites, sites) from row to column
    is_first: Flags  # (sites,) hears a gateway
    serves: Masks  # (sites, words) nodes
    usable: Flags  # (sites,) may have a relay
    everyone: Masks  # (words,) nodes
    near: Whole  # (sites, most alike) where the relay at a site moves to
    serving_at: Whole  # (nodes + 1,) offsets
    serving: Whole  # sites that serve each node
    most_hops: int


class Standing(NamedTuple):
    """The set, changed in place: `chosen[place]` is a site."""

    chosen: Whole  # (places,)
    onward: Masks  # (places, words) places that each reaches
    firsts: Masks  # (words,) places that hear a gateway


class Moved(NamedTuple):
    """A move that is weighed: who would be tied to the site in its place, and room to work."""

    onward: Masks  # (words,) places that it would reach
    back: Masks  # (words,) places that would reach it
    front: Masks  # (words,) places as many links away as was got to
    after: Masks  # (words,) places next to those
    seen: Masks  # (words,) places
    left: Masks  # (words,) nodes without a route


@inlined
def _number_of(bit: np.uint64) -> int:
    """Which bit of a word this one is."""
    number = 0
    for half in (32, 16, 8, 4, 2, 1):
        if bit >> np.uint64(half):
            bit >>= np.uint64(half)
            number += half
    return number


@inlined
def _tie(standing: Standing, place: int, site: int, ground: Ground, moved: Moved) -> None:
    """Say who would be tied to the site in this place."""
    for word in range(len(moved.onward)):
        moved.onward[word] = moved.back[word] = NONE
    for other in range(len(standing.chosen)):
        if other != place:
            bit = ONE << np.uint64(other % WORD)
            if ground.reaches[site, standing.chosen[other]]:
                moved.onward[other // WORD] |= bit
            if ground.reaches[standing.chosen[other], site]:
                moved.back[other // WORD] |= bit


@inlined
def _serve(standing: Standing, place: int, site: int, ground: Ground, moved: Moved) -> None:
    """Say which nodes would be left without a route: link by link outwards from the gateways."""
    front, after, seen, left = moved.front, moved.after, moved.seen, moved.left
    own_word, own_bit = place // WORD, ONE << np.uint64(place % WORD)
    for word in range(len(left)):
        left[word] = ground.everyone[word]
    for word in range(len(front)):
        front[word], seen[word] = standing.firsts[word], NONE
    front[own_word] &= ~own_bit
    if ground.is_first[site]:
        front[own_word] |= own_bit
    for _ in range(1, ground.most_hops):
        is_heard = NONE
        for word in range(len(front)):
            after[word] = NONE
        for word in range(len(front)):
            seen[word] |= front[word]
            is_heard |= front[word] & moved.back[word]
            rest = front[word]
            while rest:
                bit = rest & (~rest + ONE)
                rest ^= bit
                other = WORD * word + _number_of(bit)
                at = site if other == place else standing.chosen[other]
                for w in range(len(left)):
                    left[w] &= ~ground.serves[at, w]
                for w in range(len(after)):
                    after[w] |= moved.onward[w] if other == place else standing.onward[other, w]
        after[own_word] &= ~own_bit
        if is_heard:
            after[own_word] |= own_bit
        is_over = True
        for word in range(len(front)):
            front[word] = after[word] & ~seen[word]
            is_over &= front[word] == NONE
        if is_over:
            break


@inlined
def _weigh(left: Masks, weight: Real, most: float) -> float:
    """The weight of nodes in a mask; no more is added up than shows that it is above `most`."""
    total = 0.0
    for word in range(len(left)):
        rest = left[word]
        while rest and total <= most:
            bit = rest & (~rest + ONE)
            rest ^= bit
            total += weight[WORD * word + _number_of(bit)]
    return total


@inlined
def _learn(left: Masks, weight: Real) -> None:
    """Let the nodes in a mask gain weight."""
    for word in range(len(left)):
        rest = left[word]
        while rest:
            bit = rest & (~rest + ONE)
            rest ^= bit
            weight[WORD * word + _number_of(bit)] += LEARNS


@inlined
def _move(standing: Standing, place: int, site: int, ground: Ground, moved: Moved) -> None:
    """Make the move that was weighed."""
    own_word, own_bit = place // WORD, ONE << np.uint64(place % WORD)
    standing.chosen[place] = site
    for word in range(len(moved.onward)):
        standing.onward[place, word] = moved.onward[word]
    for other in range(len(standing.chosen)):
        standing.onward[other, own_word] &= ~own_bit
        if moved.back[other // WORD] >> np.uint64(other % WORD) & ONE:
            standing.onward[other, own_word] |= own_bit
    standing.firsts[own_word] &= ~own_bit
    if ground.is_first[site]:
        standing.firsts[own_word] |= own_bit


@compiled
def anneal(chosen: Whole, movable: int, ground: Ground, weight: Real, moves: int, seed: int, halt: Flags) -> int:
    """Move relays until every node has a route; after how many moves it came to that, 0 where it did not.

    The first `movable` places of `chosen` may move, the rest are fixed; it is changed in place, and so is `weight` (a
    number for each bit of the masks of nodes, 1 or more), so that more moves go on from there. Another thread may set
    `halt[0]` to have it end soon.
    """
    np.random.seed(seed)
    if len(chosen) == 0:
        return 0 if ground.everyone.any() else 1
    words = (len(chosen) + WORD - 1) // WORD
    standing = Standing(chosen, np.zeros((len(chosen), words), np.uint64), np.zeros(words, np.uint64))
    moved = Moved(
        np.zeros(words, np.uint64), np.zeros(words, np.uint64), np.zeros(words, np.uint64), np.zeros(words, np.uint64),
        np.zeros(words, np.uint64), np.zeros(len(ground.everyone), np.uint64),
    )  # fmt: skip
    is_taken = ~ground.usable
    for place in range(len(chosen)):
        is_taken[chosen[place]] = True
        _tie(standing, place, chosen[place], ground, moved)
        _move(standing, place, chosen[place], ground, moved)
    _tie(standing, 0, chosen[0], ground, moved)
    _serve(standing, 0, chosen[0], ground, moved)
    left = moved.left.copy()
    now = _weigh(left, weight, np.inf)
    for move in range(1, moves + 1):
        if now == 0.0:
            return move
        if movable == 0 or (move % HEARS_EVERY == 0 and halt[0]):
            break
        if move % LEARNS_EVERY == 0:
            _learn(left, weight)
            now = _weigh(left, weight, np.inf)
        place = np.random.randint(movable)
        if np.random.random() < ANYWHERE:
            node = np.random.randint(len(ground.serving_at) - 1)
            site = ground.serving[np.random.randint(ground.serving_at[node], ground.serving_at[node + 1])]
        else:
            site = ground.near[chosen[place], np.random.randint(ground.near.shape[1])]
        if is_taken[site]:
            continue
        _tie(standing, place, site, ground, moved)
        _serve(standing, place, site, ground, moved)
        most = now - WARMTH * np.log(1.0 - np.random.random())
        then = _weigh(moved.left, weight, most)
        if then <= most:
            is_taken[chosen[place]], is_taken[site] = False, True
            _move(standing, place, site, ground, moved)
            left[:] = moved.left
            now = then
    return 0
