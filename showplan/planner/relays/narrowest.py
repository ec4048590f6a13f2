"""Compiled: the narrowest places between the gateways and a node in the levelled model, for a fractional solution.

Links let through what the solution has of them. A greatest flow to the node, by shortest ways, shows the narrowest
place nearest to the gateways and the one nearest to the node. What lies beyond such a place is its far side: copies
with a way to the node. Of the links into a far side every placement has one.

A table is a pair of arrays, offsets and columns. Vertices are copies; the number behind the last is the gateways.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from showplan.planner.relays.compiled import compiled

Whole = NDArray[np.int64]
Real = NDArray[np.float64]
Flags = NDArray[np.bool_]
Table = tuple[Whole, Whole]
TINY = 1e-9
MISSING = 1e-3  # a place counts as too narrow when so much of a route is missing


class Net(NamedTuple):
    """Links between vertices, what they let through and what flows `along` them, which changes."""

    sender: Whole
    receiver: Whole
    room: Real
    along: Real
    out_of: Table  # links by sender
    into: Table  # links by receiver


@compiled
def narrowest(
    sender: Whole,
    receiver: Whole,
    room: Real,
    heard: Table,
    ends: Table,
    order: Whole,
    most_broken: int,
    far: Flags,
    broken: Flags,
) -> int:
    """Write far sides into the rows of `far` and say which nodes are `broken`; how many far sides.

    `room` (links,) above 0 is the solution on the links from `sender` to `receiver`; nodes are taken in `order`
    until `most_broken` get too little. `far` (two rows for each of these, copies + 1) comes empty.
    """
    vertices = far.shape[1]
    gateways = vertices - 1
    net = Net(sender, receiver, room, np.zeros(len(room)), _by(sender, vertices), _by(receiver, vertices))
    away = np.zeros(vertices, np.int64)
    count = n_broken = 0
    for node in order:
        is_end = np.zeros(vertices, np.bool_)
        is_end[ends[1][ends[0][node] : ends[0][node + 1]]] = True
        net.along[:] = 0.0
        flow = 0.0
        while flow < 1.0 - MISSING and _measure(net, is_end, gateways, away):
            flow += _fill(net, is_end, gateways, away, 1.0 - MISSING - flow)
        if flow >= 1.0 - MISSING:
            continue
        _beyond(away < 0, is_end, heard, far[count])
        _beyond(_leads(net, is_end), is_end, heard, far[count + 1])
        count += 2
        broken[node] = True
        n_broken += 1
        if n_broken >= most_broken:
            break
    return count


@compiled
def _by(end: Whole, vertices: int) -> Table:
    """A table of links by the vertex at one end."""
    offsets = np.zeros(vertices + 1, np.int64)
    for vertex in end:
        offsets[vertex + 1] += 1
    offsets = np.cumsum(offsets)
    filled, links = offsets.copy(), np.zeros(len(end), np.int64)
    for link in range(len(end)):
        links[filled[end[link]]] = link
        filled[end[link]] += 1
    return offsets, links


@compiled
def _measure(net: Net, is_end: Flags, gateways: int, away: Whole) -> bool:
    """Measure shortest ways that have room: `away` gets the steps to each vertex, -1 where no way with room leads.

    Whether one leads to an end. Where one does, only what is nearer than that end is measured.
    """
    queue = np.zeros(len(away), np.int64)
    away[:] = -1
    away[gateways] = 0
    queue[0] = gateways
    head, tail = 0, 1
    nearest_end = -1
    while head < tail:
        vertex = queue[head]
        head += 1
        if nearest_end >= 0 and away[vertex] >= nearest_end:
            break
        if is_end[vertex]:
            nearest_end = away[vertex]
            continue
        for k in range(net.out_of[0][vertex], net.out_of[0][vertex + 1]):
            link = net.out_of[1][k]
            other = net.receiver[link]
            if away[other] < 0 and net.room[link] - net.along[link] > TINY:
                away[other] = away[vertex] + 1
                queue[tail] = other
                tail += 1
        for k in range(net.into[0][vertex], net.into[0][vertex + 1]):
            link = net.into[1][k]
            other = net.sender[link]
            if away[other] < 0 and net.along[link] > TINY:
                away[other] = away[vertex] + 1
                queue[tail] = other
                tail += 1
    return nearest_end >= 0


@compiled
def _fill(net: Net, is_end: Flags, gateways: int, away: Whole, wanted: float) -> float:
    """Let flow along shortest ways until none of that length has room or there is as much as wanted; how much.

    A vertex tries its links one after another, first those out of it; one that was found useless stays so.
    """
    step = np.zeros(len(away), np.int64)
    way, taken = np.zeros(len(away) + 1, np.int64), np.zeros(len(away) + 1, np.int64)
    way[0] = gateways
    depth = 0
    flow = 0.0
    while flow < wanted:
        vertex = way[depth]
        if is_end[vertex]:
            flow += _push(net, taken[:depth], way)
            depth = 0
            continue
        outs = net.out_of[0][vertex + 1] - net.out_of[0][vertex]
        most = outs + net.into[0][vertex + 1] - net.into[0][vertex]
        onto = -1
        while step[vertex] < most:
            is_out = step[vertex] < outs
            if is_out:
                link = net.out_of[1][net.out_of[0][vertex] + step[vertex]]
                other, has_room = net.receiver[link], net.room[link] - net.along[link] > TINY
            else:
                link = net.into[1][net.into[0][vertex] + step[vertex] - outs]
                other, has_room = net.sender[link], net.along[link] > TINY
            if has_room and away[other] == away[vertex] + 1:
                onto = other
                taken[depth] = link
                break
            step[vertex] += 1
        if onto >= 0:
            depth += 1
            way[depth] = onto
        elif depth == 0:
            break
        else:
            depth -= 1
            step[way[depth]] += 1
    return flow


@compiled
def _push(net: Net, taken: Whole, way: Whole) -> float:
    """Let as much flow along a way as fits; how much."""
    more = 1.0
    for place in range(len(taken)):
        link = taken[place]
        more = min(more, net.room[link] - net.along[link] if net.sender[link] == way[place] else net.along[link])
    for place in range(len(taken)):
        link = taken[place]
        net.along[link] += more if net.sender[link] == way[place] else -more
    return more


@compiled
def _leads(net: Net, is_end: Flags) -> Flags:
    """(vertices,) from where there is room on to an end."""
    leads = is_end.copy()
    queue = np.zeros(len(is_end), np.int64)
    head = tail = 0
    for vertex in np.flatnonzero(is_end):
        queue[tail] = vertex
        tail += 1
    while head < tail:
        vertex = queue[head]
        head += 1
        for k in range(net.into[0][vertex], net.into[0][vertex + 1]):
            link = net.into[1][k]
            if net.room[link] - net.along[link] > TINY and not leads[net.sender[link]]:
                leads[net.sender[link]] = True
                queue[tail] = net.sender[link]
                tail += 1
        for k in range(net.out_of[0][vertex], net.out_of[0][vertex + 1]):
            link = net.out_of[1][k]
            if net.along[link] > TINY and not leads[net.receiver[link]]:
                leads[net.receiver[link]] = True
                queue[tail] = net.receiver[link]
                tail += 1
    return leads


@compiled
def _beyond(allowed: Flags, is_end: Flags, heard: Table, far: Flags) -> None:
    """Write into `far` the ends, and the allowed copies with a way to them over allowed copies."""
    queue = np.zeros(len(far), np.int64)
    head = tail = 0
    for copy in np.flatnonzero(is_end):
        far[copy] = True
        queue[tail] = copy
        tail += 1
    while head < tail:
        copy = queue[head]
        head += 1
        for other in heard[1][heard[0][copy] : heard[0][copy + 1]]:
            if allowed[other] and not far[other]:
                far[other] = True
                queue[tail] = other
                tail += 1
