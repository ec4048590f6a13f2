"""Compiled: the narrowest places between the gateways and a node in the levelled model, for a fractional solution.

Copies let through what the solution has of them. A greatest flow to the node, by shortest ways, shows the cut nearest
to the gateways and the one nearest to the node; behind both it is looked for again. Each is completed by the copies
that the solution does not use and thinned to those which lie on a way, so every path to the node meets it: the copies
of a placement's path are never all outside.
"""

import numpy as np
from numpy.typing import NDArray

from showplan.planner.simulation.compiled import compiled_search

Whole = NDArray[np.int64]
TINY = 1e-9
MISSING = 1e-3  # a cut counts as broken when so much of a route is missing


@compiled_search
def narrowest(
    room: NDArray[np.float64],
    heard_at: Whole,
    heard: Whole,
    onward_at: Whole,
    onward: Whole,
    is_first: NDArray[np.bool_],
    ends_at: Whole,
    ends: Whole,
    order: Whole,
    nested: int,
    most_broken: int,
    out: Whole,
    out_at: Whole,
    broken: NDArray[np.bool_],
) -> int:
    """Write broken cuts into `out` (offsets in `out_at`) and which nodes were `broken`; how many cuts.

    `room` (copies,) is the solution; the matrices are given as offsets and columns; nodes are taken in `order` until
    `most_broken` have a cut.
    """
    copies = len(room)
    used = np.flatnonzero(room > TINY)
    local = np.full(copies, -1)
    for i in range(len(used)):
        local[used[i]] = i
    count = len(used)
    into_at = np.zeros(count + 1, np.int64)
    from_at = np.zeros(count + 1, np.int64)
    arcs = 0
    for i in range(count):
        for e in range(onward_at[used[i]], onward_at[used[i] + 1]):
            if local[onward[e]] >= 0:
                arcs += 1
                into_at[local[onward[e]] + 1] += 1
        from_at[i + 1] = arcs
    into_at = np.cumsum(into_at)
    arc_to = np.zeros(arcs, np.int64)
    arc_from = np.zeros(arcs, np.int64)
    into = np.zeros(arcs, np.int64)
    filled = into_at[:-1].copy()
    arc = 0
    for i in range(count):
        for e in range(onward_at[used[i]], onward_at[used[i] + 1]):
            j = local[onward[e]]
            if j >= 0:
                arc_from[arc], arc_to[arc] = i, j
                into[filled[j]] = arc
                filled[j] += 1
                arc += 1
    through = np.zeros(count)
    capacity = np.zeros(count)
    along = np.zeros(arcs)
    before = np.zeros(2 * count, np.int64)
    way = np.zeros(2 * count, np.int64)  # arc by which a vertex was reached, or -1
    seen = np.zeros(2 * count, np.int64)
    queue = np.zeros(max(2 * count, copies), np.int64)
    is_end = np.zeros(copies, np.bool_)
    inside = np.zeros(copies, np.bool_)
    border = np.zeros(copies, np.bool_)
    mark = np.zeros(copies, np.int64)
    cuts, stamp, n_broken = 0, 0, 0
    for node in order:
        is_end[:] = False
        for e in range(ends_at[node], ends_at[node + 1]):
            is_end[ends[e]] = True
        for i in range(count):
            capacity[i] = room[used[i]]
        through[:] = 0.0
        along[:] = 0.0
        flow = 0.0
        for _ in range(nested):
            while True:  # shortest ways with room left; vertices: 2 i entry, 2 i + 1 exit
                stamp += 1
                head = tail = 0
                found = -1
                for i in range(count):
                    if is_first[used[i]]:
                        seen[2 * i] = stamp
                        before[2 * i] = -1
                        queue[tail] = 2 * i
                        tail += 1
                while head < tail and found < 0:
                    vertex = queue[head]
                    head += 1
                    i = vertex >> 1
                    if vertex & 1:
                        if is_end[used[i]]:
                            found = vertex
                            break
                        if through[i] > TINY and seen[2 * i] != stamp:
                            seen[2 * i], before[2 * i], way[2 * i] = stamp, vertex, -1
                            queue[tail] = 2 * i
                            tail += 1
                        for e in range(from_at[i], from_at[i + 1]):
                            j = 2 * arc_to[e]
                            if seen[j] != stamp:
                                seen[j], before[j], way[j] = stamp, vertex, e
                                queue[tail] = j
                                tail += 1
                    else:
                        if capacity[i] - through[i] > TINY and seen[vertex + 1] != stamp:
                            seen[vertex + 1], before[vertex + 1], way[vertex + 1] = stamp, vertex, -1
                            queue[tail] = vertex + 1
                            tail += 1
                        for k in range(into_at[i], into_at[i + 1]):
                            e = into[k]
                            j = 2 * arc_from[e] + 1
                            if along[e] > TINY and seen[j] != stamp:
                                seen[j], before[j], way[j] = stamp, vertex, e
                                queue[tail] = j
                                tail += 1
                if found < 0:
                    break
                more = 1.0
                vertex = found
                while before[vertex] >= 0:
                    earlier = before[vertex]
                    if way[vertex] < 0:
                        i = vertex >> 1
                        more = min(more, capacity[i] - through[i] if vertex & 1 else through[i])
                    elif not earlier & 1:
                        more = min(more, along[way[vertex]])
                    vertex = earlier
                vertex = found
                while before[vertex] >= 0:
                    earlier = before[vertex]
                    if way[vertex] < 0:
                        through[vertex >> 1] += more if vertex & 1 else -more
                    else:
                        along[way[vertex]] += more if earlier & 1 else -more
                    vertex = earlier
                flow += more
                if flow >= 1.0 - MISSING:
                    break
            if flow >= 1.0 - MISSING:
                break
            first_of_round = cuts
            for from_node in range(2):
                inside[:] = False
                border[:] = False
                if from_node == 0:
                    for i in range(count):
                        inside[used[i]] = seen[2 * i + 1] == stamp
                    for c in range(copies):
                        if is_first[c] and not inside[c]:
                            border[c] = True
                        if inside[c]:
                            for e in range(onward_at[c], onward_at[c + 1]):
                                if not inside[onward[e]]:
                                    border[onward[e]] = True
                else:
                    stamp += 1
                    tail = head = 0
                    for i in range(count):
                        if is_end[used[i]]:
                            seen[2 * i + 1] = stamp
                            queue[tail] = 2 * i + 1
                            tail += 1
                    while head < tail:
                        vertex = queue[head]
                        head += 1
                        i = vertex >> 1
                        if vertex & 1:
                            if capacity[i] - through[i] > TINY and seen[2 * i] != stamp:
                                seen[2 * i] = stamp
                                queue[tail] = 2 * i
                                tail += 1
                            for e in range(from_at[i], from_at[i + 1]):
                                if along[e] > TINY and seen[2 * arc_to[e]] != stamp:
                                    seen[2 * arc_to[e]] = stamp
                                    queue[tail] = 2 * arc_to[e]
                                    tail += 1
                        else:
                            if through[i] > TINY and seen[vertex + 1] != stamp:
                                seen[vertex + 1] = stamp
                                queue[tail] = vertex + 1
                                tail += 1
                            for k in range(into_at[i], into_at[i + 1]):
                                j = 2 * arc_from[into[k]] + 1
                                if seen[j] != stamp:
                                    seen[j] = stamp
                                    queue[tail] = j
                                    tail += 1
                    for i in range(count):
                        inside[used[i]] = seen[2 * i] == stamp
                    for c in range(copies):
                        if is_end[c] and not inside[c]:
                            border[c] = True
                        if inside[c]:
                            for e in range(heard_at[c], heard_at[c + 1]):
                                if not inside[heard[e]]:
                                    border[heard[e]] = True
                # from the other end over copies that are neither inside nor border: the border met is the cut
                stamp += 1
                head = tail = 0
                start = out_at[cuts]
                size = 0
                value = 0.0
                for c in range(copies):
                    if (is_end[c] if from_node == 0 else is_first[c]) and not inside[c]:
                        mark[c] = stamp
                        queue[tail] = c
                        tail += 1
                while head < tail:
                    c = queue[head]
                    head += 1
                    if border[c]:
                        if start + size < len(out):
                            out[start + size] = c
                        size += 1
                        value += room[c]
                        continue
                    if from_node == 0:
                        for e in range(heard_at[c], heard_at[c + 1]):
                            if mark[heard[e]] != stamp and not inside[heard[e]]:
                                mark[heard[e]] = stamp
                                queue[tail] = heard[e]
                                tail += 1
                    else:
                        for e in range(onward_at[c], onward_at[c + 1]):
                            if mark[onward[e]] != stamp and not inside[onward[e]]:
                                mark[onward[e]] = stamp
                                queue[tail] = onward[e]
                                tail += 1
                if value < 1.0 - MISSING and start + size <= len(out) and cuts + 1 < len(out_at):
                    cuts += 1
                    out_at[cuts] = start + size
            if cuts == first_of_round:
                break
            broken[node] = True
            for e in range(out_at[first_of_round], out_at[cuts]):
                if local[out[e]] >= 0:
                    capacity[local[out[e]]] = 2.0
        if broken[node]:
            n_broken += 1
            if n_broken >= most_broken:
                break
    return cuts
