"""Cuts that a fractional solution breaks: too little of it stands between the gateways and a node.

For each node a greatest flow through the layered graph, with the solution's values as what each copy lets through,
shows the narrowest place; it is looked for near the gateways and near the node, and again behind what was found.
Only copies that the solution uses are in the flow; each cut is then completed on the whole graph and thinned.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import breadth_first_order, maximum_flow

from showplan.planner.relays.layers import Demand, Layers
from showplan.planner.relays.posts import Indices
from showplan.planner.relays.problem import Booleans, Floats

SCALE = 1_000_000  # flows are whole numbers
USED = 1e-7
BROKEN = 1e-3  # a cut counts as broken when this much of a route is missing


@dataclass(frozen=True)
class Cut:
    """At least `least` in sum over columns times factors."""

    columns: tuple[int, ...]
    least: float = 1.0
    double: tuple[int, ...] = ()  # columns that count twice: gateways, which two routes may share

    def value(self, solution: Floats) -> float:
        """What a solution has of it."""
        return float(solution[list(self.columns)].sum() + solution[list(self.double)].sum())


@dataclass(frozen=True, eq=False)
class Network:
    """The used part of the layered graph for one solution, split into entry and exit of each copy, and all nodes."""

    layers: Layers
    used: Indices  # copies
    matrix: csr_array
    source: int

    def sink(self, place: int) -> int:
        """The vertex of the demand at this place."""
        return self.source + 1 + place


def network_of(layers: Layers, solution: Floats, demands: Sequence[Demand]) -> Network:
    """Entries 0 .. u-1, exits u .. 2u-1, then the source, then one sink a demand."""
    room = np.full(len(layers.post), 2.0)
    room[layers.free] = np.minimum(solution[layers.column[layers.free]], 1.0)
    used = np.flatnonzero(room > USED)
    count = len(used)
    inner = layers.onward[used][:, used].tocoo()
    through = np.maximum(np.round(room[used] * SCALE), 1).astype(np.int32)
    through[layers.roots[used]] *= 2  # two routes may share a gateway
    starts = np.flatnonzero(layers.roots[used])
    sinks, ends = np.nonzero(np.array([demand.ends[used] for demand in demands]).reshape(len(demands), count))
    wide = 4 * SCALE
    rows = np.concatenate([np.arange(count), count + inner.coords[0], np.full(len(starts), 2 * count), count + ends])
    columns = np.concatenate([count + np.arange(count), inner.coords[1], starts, 2 * count + 1 + sinks])
    values = np.concatenate([through, np.full(inner.nnz + len(starts) + len(ends), wide, dtype=np.int32)])
    size = 2 * count + 1 + len(demands)
    matrix = csr_array((values, (rows, columns)), shape=(size, size))
    matrix.sort_indices()
    matrix.indices = matrix.indices.astype(np.int32)
    matrix.indptr = matrix.indptr.astype(np.int32)
    return Network(layers, used, matrix, 2 * count)


def broken_cuts(
    layers: Layers, solution: Floats, demands: Sequence[Demand], places: Iterable[int], nested: int, most: int
) -> tuple[list[Cut], list[int]]:
    """Cuts that the solution breaks for the demands at `places`, and which of these demands it breaks.

    Stops after `most` broken demands; `nested` rounds of cuts behind each other for each.
    """
    network = network_of(layers, solution, demands)
    found: dict[Cut, None] = {}
    broken = []
    for place in places:
        cuts = _cuts_of(network, solution, demands[place], network.sink(place), nested)
        if cuts:
            broken.append(place)
            found.update(dict.fromkeys(cuts))
            if len(broken) >= most:
                break
    return list(found), broken


def _cuts_of(network: Network, solution: Floats, demand: Demand, sink: int, nested: int) -> list[Cut]:
    layers, count = network.layers, len(network.used)
    matrix = network.matrix
    found: list[Cut] = []
    for _ in range(nested):
        flow = maximum_flow(matrix, network.source, sink)
        if flow.flow_value >= (demand.routes - BROKEN) * SCALE:
            break
        left = matrix - flow.flow
        left.data = np.maximum(left.data, 0)
        left.eliminate_zeros()
        ahead = np.zeros(matrix.shape[0], dtype=bool)
        ahead[breadth_first_order(left, network.source, return_predecessors=False)] = True
        behind = np.zeros(matrix.shape[0], dtype=bool)
        behind[breadth_first_order(left.T.tocsr(), sink, return_predecessors=False)] = True
        near_gateways = _completed(layers, demand, _copies(network, ahead[count : 2 * count]), from_node=False)
        near_node = _completed(layers, demand, _copies(network, behind[:count]), from_node=True)
        made = [cut_of(layers, cut, demand.routes) for cut in (near_gateways, near_node)]
        new = [cut for cut in made if cut is not None and cut.value(solution) < cut.least - BROKEN]
        if not new:
            break
        found += new
        blocked = np.flatnonzero((near_gateways | near_node)[network.used])
        matrix = matrix.copy()
        matrix.data[matrix.indptr[blocked]] = 4 * SCALE  # an entry has one arc: to its exit
    return found


def _copies(network: Network, flags: Booleans) -> Booleans:
    inside = np.zeros(len(network.layers.post), dtype=bool)
    inside[network.used[flags]] = True
    return inside


def _completed(layers: Layers, demand: Demand, inside: Booleans, from_node: bool) -> Booleans:
    """The copies next to the inside part of a cut, of which only those that lie on a way to the other end."""
    if from_node:
        border = _touched(layers.back, demand.ends, inside) & ~inside
        return border & _touched(layers.onward, layers.roots, ~(inside | border))
    border = _touched(layers.onward, layers.roots, inside) & ~inside
    return border & _touched(layers.back, demand.ends, ~(inside | border))


def _touched(arcs: csr_array, start: Booleans, passing: Booleans) -> Booleans:
    """Copies that are reached from `start` through `passing` ones, themselves passing or not."""
    touched = start.copy()
    new = start & passing
    while new.any():
        reached = np.zeros(len(start), dtype=bool)
        reached[arcs[np.flatnonzero(new)].indices] = True
        reached &= ~touched
        touched |= reached
        new = reached & passing
    return touched


def cut_of(layers: Layers, copies: Booleans, least: float) -> Cut | None:
    """The inequality of a set of copies; None when a post that is always there lies in it."""
    if not layers.free[copies].all():
        return None
    columns = tuple(int(column) for column in np.unique(layers.column[copies]))
    double: tuple[int, ...] = ()
    if least > 1:
        gateways = layers.posts.n
        double = tuple(column for column in columns if layers.post_of_column[column] >= gateways)
    return Cut(columns, float(least), double)
