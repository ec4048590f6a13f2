"""Compiled: the narrowest places between the gateways and a node in the levelled model, for a fractional solution.

Copies let through what the solution has of them. A greatest flow to the node, by shortest ways, shows the cut nearest
to the gateways and the one nearest to the node; behind both it is looked for again. Each is completed by the copies
that the solution does not use and thinned to those which lie on a way, so every path to the node meets it: the copies
of a placement's path are never all outside.

A table is a pair of arrays, offsets and columns. Vertices of the flow: 2 i is the entry, 2 i + 1 the exit of the i-th
used copy.
"""

import numpy as np
from numpy.typing import NDArray

from showplan.planner.relays.compiled import compiled

Whole = NDArray[np.int64]
Real = NDArray[np.float64]
Flags = NDArray[np.bool_]
Table = tuple[Whole, Whole]
TINY = 1e-9
MISSING = 1e-3  # a cut counts as broken when so much of a route is missing


@compiled
def narrowest(
    room: Real,
    heard: Table,
    onward: Table,
    is_first: Flags,
    ends: Table,
    order: Whole,
    nested: int,
    most_broken: int,
    out: Whole,
    out_at: Whole,
    broken: Flags,
) -> int:
    """Write broken cuts into `out` (offsets in `out_at`) and which nodes were `broken`; how many cuts.

    `room` (copies,) is the solution; nodes are taken in `order` until `most_broken` have a cut, each from up to
    `nested` flows behind one another.
    """
    copies = len(room)
    used = np.flatnonzero(room > TINY)
    count = len(used)
    local = np.full(copies, -1)
    for i in range(count):
        local[used[i]] = i
    out_of, into, arc_from, arc_to = _arcs(used, local, onward)
    first = is_first[used]
    along = np.zeros(len(arc_to))
    away = np.zeros(2 * count, np.int64)
    n_cuts = n_broken = 0
    for node in order:
        is_end = np.zeros(copies, np.bool_)
        is_end[ends[1][ends[0][node] : ends[0][node + 1]]] = True
        last = is_end[used]
        capacity = room[used]
        through = np.zeros(count)
        along[:] = 0.0
        flow = 0.0
        for _ in range(nested):
            while flow < 1.0 - MISSING:
                if not _widen(capacity, through, along, first, last, out_of, into, arc_from, arc_to, away):
                    break
                flow += _fill(
                    capacity, through, along, first, last, out_of, into, arc_from, arc_to, away, 1.0 - MISSING - flow
                )
            if flow >= 1.0 - MISSING:
                break
            before = n_cuts
            n_cuts += _cut(used[away[1::2] >= 0], onward, is_first, heard, is_end, room, out, out_at, n_cuts)
            behind = _behind(capacity, through, along, last, out_of, into, arc_from, arc_to)
            n_cuts += _cut(used[behind], heard, is_end, onward, is_first, room, out, out_at, n_cuts)
            if n_cuts == before:
                break
            broken[node] = True
            for copy in out[out_at[before] : out_at[n_cuts]]:
                if local[copy] >= 0:
                    capacity[local[copy]] = 2.0
        n_broken += broken[node]
        if n_broken >= most_broken:
            break
    return n_cuts


@compiled
def _arcs(used: Whole, local: Whole, onward: Table) -> tuple[Whole, Table, Whole, Whole]:
    """Arcs between used copies: offsets by sender, a table of arcs by receiver, senders and receivers."""
    count = len(used)
    out_of, into_at = np.zeros(count + 1, np.int64), np.zeros(count + 1, np.int64)
    for i in range(count):
        out_of[i + 1] = out_of[i]
        for copy in onward[1][onward[0][used[i]] : onward[0][used[i] + 1]]:
            if local[copy] >= 0:
                out_of[i + 1] += 1
                into_at[local[copy] + 1] += 1
    into_at = np.cumsum(into_at)
    arc_from, arc_to = np.zeros(out_of[-1], np.int64), np.zeros(out_of[-1], np.int64)
    into = np.zeros(out_of[-1], np.int64)
    filled = into_at.copy()
    arc = 0
    for i in range(count):
        for copy in onward[1][onward[0][used[i]] : onward[0][used[i] + 1]]:
            j = local[copy]
            if j >= 0:
                arc_from[arc], arc_to[arc] = i, j
                into[filled[j]] = arc
                filled[j] += 1
                arc += 1
    return out_of, (into_at, into), arc_from, arc_to


@compiled
def _widen(
    capacity: Real,
    through: Real,
    along: Real,
    first: Flags,
    last: Flags,
    out_of: Whole,
    into: Table,
    arc_from: Whole,
    arc_to: Whole,
    away: Whole,
) -> bool:
    """Measure shortest ways that have room: `away` gets the steps to each vertex, -1 where no way with room leads.

    Whether one leads to the end. Where one does, only what is nearer than that end is measured.
    """
    queue = np.zeros(2 * len(capacity), np.int64)
    away[:] = -1
    head = tail = 0
    for i in np.flatnonzero(first):
        away[2 * i] = 0
        queue[tail] = 2 * i
        tail += 1
    nearest_end = -1
    while head < tail:
        vertex = queue[head]
        head += 1
        i = vertex >> 1
        if nearest_end >= 0 and away[vertex] >= nearest_end:
            break
        if vertex & 1 and last[i]:
            nearest_end = away[vertex]
            continue
        if (through[i] if vertex & 1 else capacity[i] - through[i]) > TINY and away[vertex ^ 1] < 0:
            away[vertex ^ 1] = away[vertex] + 1
            queue[tail] = vertex ^ 1
            tail += 1
        from_at, to_at = (out_of[i], out_of[i + 1]) if vertex & 1 else (into[0][i], into[0][i + 1])
        for k in range(from_at, to_at):
            arc = k if vertex & 1 else into[1][k]
            other = 2 * arc_to[arc] if vertex & 1 else 2 * arc_from[arc] + 1
            if away[other] < 0 and (vertex & 1 or along[arc] > TINY):
                away[other] = away[vertex] + 1
                queue[tail] = other
                tail += 1
    return nearest_end >= 0


@compiled
def _fill(
    capacity: Real,
    through: Real,
    along: Real,
    first: Flags,
    last: Flags,
    out_of: Whole,
    into: Table,
    arc_from: Whole,
    arc_to: Whole,
    away: Whole,
    wanted: float,
) -> float:
    """Let flow along shortest ways until none of that length has room or there is as much as wanted; how much.

    A vertex tries its next step: number 0 is to its other side, the others are its arcs; a step once found useless
    stays so.
    """
    step = np.zeros(2 * len(capacity), np.int64)
    way = np.zeros(2 * len(capacity), np.int64)
    flow = 0.0
    for start in np.flatnonzero(first):
        way[0] = 2 * start
        depth = 0
        while flow < wanted:
            vertex = way[depth]
            i = vertex >> 1
            if vertex & 1 and last[i]:
                flow += _push(way[: depth + 1], step, capacity, through, along, out_of, into)
                depth = 0
                continue
            from_at, to_at = (out_of[i], out_of[i + 1]) if vertex & 1 else (into[0][i], into[0][i + 1])
            onto = -1
            while step[vertex] <= to_at - from_at:
                if step[vertex] == 0:
                    other = vertex ^ 1
                    has_room = (through[i] if vertex & 1 else capacity[i] - through[i]) > TINY
                elif vertex & 1:
                    other = 2 * arc_to[from_at + step[vertex] - 1]
                    has_room = True
                else:
                    arc = into[1][from_at + step[vertex] - 1]
                    other = 2 * arc_from[arc] + 1
                    has_room = along[arc] > TINY
                if has_room and away[other] == away[vertex] + 1:
                    onto = other
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
def _push(way: Whole, step: Whole, capacity: Real, through: Real, along: Real, out_of: Whole, into: Table) -> float:
    """Let as much flow along a way as fits; how much."""
    more = 1.0
    for is_pushing in (False, True):
        for vertex in way[:-1]:
            i = vertex >> 1
            if step[vertex] == 0:
                if is_pushing:
                    through[i] += -more if vertex & 1 else more
                else:
                    more = min(more, through[i] if vertex & 1 else capacity[i] - through[i])
            elif vertex & 1:
                if is_pushing:
                    along[out_of[i] + step[vertex] - 1] += more
            else:
                arc = into[1][into[0][i] + step[vertex] - 1]
                if is_pushing:
                    along[arc] -= more
                else:
                    more = min(more, along[arc])
    return more


@compiled
def _behind(
    capacity: Real, through: Real, along: Real, last: Flags, out_of: Whole, into: Table, arc_from: Whole, arc_to: Whole
) -> Flags:
    """(used,) whose entry still has room on to the node."""
    count = len(capacity)
    queue, leads = np.zeros(2 * count, np.int64), np.zeros(2 * count, np.bool_)
    head = tail = 0
    for i in np.flatnonzero(last):
        leads[2 * i + 1] = True
        queue[tail] = 2 * i + 1
        tail += 1
    while head < tail:
        vertex = queue[head]
        head += 1
        i = vertex >> 1
        if (capacity[i] - through[i] if vertex & 1 else through[i]) > TINY and not leads[vertex ^ 1]:
            leads[vertex ^ 1] = True
            queue[tail] = vertex ^ 1
            tail += 1
        from_at, to_at = (out_of[i], out_of[i + 1]) if vertex & 1 else (into[0][i], into[0][i + 1])
        for k in range(from_at, to_at):
            arc = k if vertex & 1 else into[1][k]
            other = 2 * arc_to[arc] if vertex & 1 else 2 * arc_from[arc] + 1
            if (not vertex & 1 or along[arc] > TINY) and not leads[other]:
                leads[other] = True
                queue[tail] = other
                tail += 1
    return leads[::2]


@compiled
def _cut(
    inside: Whole,
    away: Table,
    begins: Flags,
    back: Table,
    finishes: Flags,
    room: Real,
    out: Whole,
    out_at: Whole,
    n_cuts: int,
) -> int:
    """Write the copies next to `inside` that have a way to the other end without it; 1 if it is a broken cut, else 0.

    Paths begin at `begins`, lead `away`, and `finishes` are at the other end, from where one goes `back`.
    """
    is_inside, border = np.zeros(len(room), np.bool_), begins.copy()
    is_inside[inside] = True
    for copy in inside:
        border[away[1][away[0][copy] : away[0][copy + 1]]] = True
    queue, seen = np.zeros(len(room), np.int64), is_inside.copy()
    size, tail, head, value = 0, 0, 0, 0.0
    for copy in np.flatnonzero(finishes & ~is_inside):
        seen[copy] = True
        queue[tail] = copy
        tail += 1
    start = out_at[n_cuts]
    while head < tail:
        copy = queue[head]
        head += 1
        if border[copy]:
            if start + size < len(out):
                out[start + size] = copy
            size += 1
            value += room[copy]
            continue
        for other in back[1][back[0][copy] : back[0][copy + 1]]:
            if not seen[other]:
                seen[other] = True
                queue[tail] = other
                tail += 1
    if value >= 1.0 - MISSING or start + size > len(out) or n_cuts + 1 >= len(out_at):
        return 0
    out_at[n_cuts + 1] = start + size
    return 1
