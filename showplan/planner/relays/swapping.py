"""Compiled: exchange of single sites in a set of fixed size until every node has a route.

Nodes without a route gain weight round by round, so that the search leaves the places where it got stuck; a site that
was exchanged rests for some rounds. Rounds are the budget and chance comes from the seed, so runs repeat.
"""

import numpy as np
from numpy.typing import NDArray

from showplan.planner.relays.compiled import compiled

Whole = NDArray[np.int64]
Masks = NDArray[np.uint64]
REST_OUT, REST_IN = 4, 3  # rounds that a site taken out, or put in, rests at most, beside the fixed part
FULL_EVERY = 10  # rounds between those that weigh every exchange; the others put in first, then take out


@compiled
def unserved(
    chosen: Whole,
    count: int,
    out: int,
    new: int,
    reaches: NDArray[np.bool_],
    is_first: NDArray[np.bool_],
    serves: Masks,
    most_hops: int,
    everyone: Masks,
    level: Whole,
    left: Masks,
) -> None:
    """Nodes without a route from the first `count` chosen sites, `new` in place number `out` (-1: none), into `left`.

    `serves` (sites, words) are bit masks of nodes; `level` gets links from the gateways, 0 where there is no way.
    """
    words = len(everyone)
    for w in range(words):
        left[w] = everyone[w]
    added = 0
    for i in range(count):
        site = new if i == out else chosen[i]
        level[i] = 0
        if most_hops > 1 and is_first[site]:
            level[i] = 1
            added += 1
            for w in range(words):
                left[w] &= ~serves[site, w]
    hop = 1
    while added > 0 and hop < most_hops - 1:
        added = 0
        for i in range(count):
            if level[i] != 0:
                continue
            site = new if i == out else chosen[i]
            for j in range(count):
                if level[j] == hop and reaches[new if j == out else chosen[j], site]:
                    level[i] = hop + 1
                    added += 1
                    for w in range(words):
                        left[w] &= ~serves[site, w]
                    break
        hop += 1


@compiled
def weight_of(left: Masks, weight: Whole) -> int:
    """The weight of the nodes in a mask."""
    total = 0
    for w in range(len(left)):
        rest = left[w]
        if rest:
            for bit in range(64):
                if rest >> np.uint64(bit) & np.uint64(1):
                    total += weight[64 * w + bit]
    return total


@compiled
def exchange(
    chosen: Whole,
    movable: int,
    reaches: NDArray[np.bool_],
    is_first: NDArray[np.bool_],
    serves: Masks,
    hears: NDArray[np.bool_],
    usable: NDArray[np.bool_],
    most_hops: int,
    everyone: Masks,
    rounds: int,
    seed: int,
) -> int:
    """Exchange sites until every node has a route; in which round it came to that, 0 where it did not.

    `chosen` has one place to spare at the end; the first `movable` sites may be exchanged, the rest are fixed. It is
    changed in place. `hears` (sites, nodes) says the same as `serves`.
    """
    np.random.seed(seed)
    count = len(chosen) - 1
    sites, nodes = hears.shape
    level = np.zeros(count + 1, np.int64)
    left = np.zeros(len(everyone), np.uint64)
    weight = np.ones(64 * len(everyone), np.int64)
    rests = np.zeros(sites, np.int64)
    moved = np.zeros(sites, np.int64)
    inside = np.zeros(sites, np.bool_)
    for i in range(count):
        inside[chosen[i]] = True
    candidates = np.zeros(sites, np.int64)
    mark = np.zeros(sites, np.int64)
    missing = np.zeros(nodes, np.int64)
    far = 1 << 60
    for now in range(1, rounds + 1):
        unserved(chosen, count, -1, 0, reaches, is_first, serves, most_hops, everyone, level, left)
        lacking = 0
        for node in range(nodes):
            if left[node // 64] >> np.uint64(node % 64) & np.uint64(1):
                missing[lacking] = node
                weight[node] += 1
                lacking += 1
        if lacking == 0:
            return now
        node = missing[np.random.randint(lacking)]
        found = 0
        for site in range(sites):
            if hears[site, node] and usable[site] and not inside[site] and rests[site] <= now:
                mark[site] = now
                candidates[found] = site
                found += 1
        for i in range(count):  # a site that would serve the node has no way to a gateway: what reaches it
            if level[i] == 0 and hears[chosen[i], node]:
                for site in range(sites):
                    fits = reaches[site, chosen[i]] and usable[site] and not inside[site]
                    if fits and mark[site] != now and rests[site] <= now:
                        mark[site] = now
                        candidates[found] = site
                        found += 1
        if found == 0:
            continue
        best, out, new, age = far, -1, -1, far
        if now % FULL_EVERY == 0:
            for i in range(movable):
                if rests[chosen[i]] > now:
                    continue
                for c in range(found):
                    site = candidates[c]
                    unserved(chosen, count, i, site, reaches, is_first, serves, most_hops, everyone, level, left)
                    value = weight_of(left, weight)
                    since = int(moved[chosen[i]] + moved[site])
                    if value < best or (value == best and since < age):
                        best, out, new, age = value, i, site, since
        else:
            for c in range(found):
                chosen[count] = candidates[c]
                unserved(chosen, count + 1, -1, 0, reaches, is_first, serves, most_hops, everyone, level, left)
                value = weight_of(left, weight)
                if value < best or (value == best and moved[candidates[c]] < age):
                    best, new, age = value, candidates[c], int(moved[candidates[c]])
            best, age = far, far
            for i in range(movable):
                if rests[chosen[i]] > now:
                    continue
                unserved(chosen, count, i, new, reaches, is_first, serves, most_hops, everyone, level, left)
                value = weight_of(left, weight)
                if value < best or (value == best and moved[chosen[i]] < age):
                    best, out, age = value, i, int(moved[chosen[i]])
        if out < 0:
            continue
        old = chosen[out]
        inside[old], inside[new] = False, True
        chosen[out] = new
        moved[old] = moved[new] = now
        rests[old] = now + 3 + np.random.randint(REST_OUT)
        rests[new] = now + 1 + np.random.randint(REST_IN)
    return 0
