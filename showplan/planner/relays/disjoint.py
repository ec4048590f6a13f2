"""Two node-disjoint routes within the hops allowed, found exactly.

Disjoint pairs of least total length need not keep a limit on each path, so flows do not answer this. Here the first
route runs through all routes without a shortcut (a route with a shortcut leaves more out of the second one's way when
it takes it), and a breadth-first search on the rest decides. Sets are bit masks over the chosen posts.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from showplan.planner.relays.posts import Posts
from showplan.planner.relays.problem import Booleans


@dataclass(frozen=True)
class Chosen:
    """The graph of chosen posts as bit masks: neighbours among the sites, sites a gateway reaches."""

    posts: tuple[int, ...]
    heard: tuple[int, ...]  # of each site: the sites that it hears
    from_gateway: int
    gateway_of: tuple[int, ...]  # a gateway that each site hears, -1 without
    most_hops: int


def chosen_graph(posts: Posts, chosen: Booleans) -> Chosen:
    """Bit i stands for the i-th chosen site."""
    sites = np.flatnonzero(chosen[: posts.n])
    gateways = posts.n + np.flatnonzero(chosen[posts.n :])
    within = posts.reaches[np.ix_(sites, sites)]
    first = posts.reaches[np.ix_(gateways, sites)]
    hears_one = first.any(axis=0)
    gateway_of = np.where(hears_one, gateways[first.argmax(axis=0)], -1) if len(gateways) else np.zeros(0, dtype=int)
    return Chosen(
        posts=tuple(int(site) for site in sites),
        heard=tuple(_mask(column) for column in within.T),
        from_gateway=_mask(np.asarray(hears_one)),
        gateway_of=tuple(int(gateway) for gateway in gateway_of),
        most_hops=posts.problem.most_hops,
    )


def disjoint_routes(
    posts: Posts, chosen: Booleans, node: int, graph: Chosen | None = None
) -> tuple[tuple[int, ...], ...] | None:
    """Two node-disjoint routes (posts, gateway first) to a node over chosen posts, or None where there are none."""
    direct = [(int(g),) for g in posts.n + np.flatnonzero(chosen[posts.n :] & posts.hears[posts.n :, node])]
    if len(direct) >= 2:
        return direct[0], direct[1]
    graph = graph or chosen_graph(posts, chosen)
    last = _mask(posts.hears[list(graph.posts), node]) if graph.posts else 0
    everything = (1 << len(graph.posts)) - 1
    if direct:
        way = _shortest(graph, last, everything)
        return None if way is None else (direct[0], _named(graph, way))
    shortest = _shortest(graph, last, everything)
    if shortest is None or any(_shortest(graph, last, everything & ~(1 << site)) is None for site in shortest):
        return None
    for way in _without_shortcut(graph, last):
        second = _shortest(graph, last, everything & ~_of(way))
        if second is not None:
            return _named(graph, way), _named(graph, second)
    return None


def _mask(flags: Booleans) -> int:
    return _of(np.flatnonzero(flags).tolist())


def _of(sites: list[int]) -> int:
    mask = 0
    for site in sites:
        mask |= 1 << site
    return mask


def _bits(mask: int) -> Iterator[int]:
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def _named(graph: Chosen, way: list[int]) -> tuple[int, ...]:
    return (graph.gateway_of[way[0]], *(graph.posts[site] for site in way))


def _shortest(graph: Chosen, last: int, allowed: int) -> list[int] | None:
    """A route with fewest links over allowed sites: its sites from the gateway on; None beyond the hops allowed."""
    layers = [last & allowed]
    seen = layers[0]
    for _ in range(graph.most_hops - 1):
        ends = layers[-1] & graph.from_gateway
        if ends:
            return _trace(graph, layers, ends)
        new = 0
        for site in _bits(layers[-1]):
            new |= graph.heard[site]
        new &= allowed & ~seen
        if not new:
            return None
        seen |= new
        layers.append(new)
    return None


def _trace(graph: Chosen, layers: list[int], ends: int) -> list[int]:
    way = [next(_bits(ends))]
    for layer in layers[-2::-1]:
        way.append(next(_bits(graph.heard[way[-1]] & layer)))
    return way


def _without_shortcut(graph: Chosen, last: int) -> Iterator[list[int]]:
    """Every route within the hops allowed of which no part of the sites is a route itself, from the gateway on."""

    def go_on(way: list[int], closed: int) -> Iterator[list[int]]:
        here = way[-1]
        if graph.from_gateway >> here & 1:
            yield way[::-1]
            return  # whatever comes before the gateway would be a detour
        if len(way) + 1 >= graph.most_hops:
            return
        for site in _bits(graph.heard[here] & ~closed):
            yield from go_on([*way, site], closed | graph.heard[here] | 1 << site)

    for site in _bits(last):
        yield from go_on([site], last)
