"""Cuts from a set that will not do: every set that will has a post which the failing one lacks, and these are few.

A route that serves a node leaves the failing set at some post. Up to there it runs over the set, from there at best
over all usable sites; so only posts where both parts together keep to the hops allowed (and to the least delivery)
come in question. The same holds for the last post outside the set, seen from the node. Leaving all other posts in, the
set still fails, so the step can be repeated from the other end, which thins the cut.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from showplan.planner.relays.delivery import EQUAL, from_gateways, node_deliveries, spread, to_one_node
from showplan.planner.relays.disjoint import chosen_graph, disjoint_routes
from showplan.planner.relays.growth import shortest_way
from showplan.planner.relays.needs import Needs
from showplan.planner.relays.posts import FAR, Indices, Levels, Posts
from showplan.planner.relays.problem import Booleans, Floats


@dataclass(frozen=True)
class SetCut:
    """At least `least` of these posts, gateways counting `least` times; with `hop`, only when a node has so few hops.

    `hop` is (node, hops): the inequality holds where the node is to be reached within that many links.
    """

    posts: tuple[int, ...]
    least: int = 1
    hop: tuple[int, int] | None = None


@dataclass(eq=False)
class Failures:
    """Makes cuts; keeps what it has worked out about single nodes over all usable sites."""

    needs: Needs
    _to_node: dict[int, Floats] = field(default_factory=dict)
    _from_gateways: Floats | None = None
    _levels: Levels | None = None

    @property
    def posts(self) -> Posts:
        """The graph."""
        return self.needs.posts

    @cached_property
    def _parts(self) -> "tuple[tuple[Indices, Failures], ...]":
        return tuple((nodes, Failures(part)) for nodes, part in self.needs.parts)

    def cuts(self, chosen: Booleans, nested: int = 2) -> list[SetCut]:
        """Cuts that a set breaks; empty exactly when it serves every node."""
        asking = self.needs.asking if self.needs.least_delivery <= 0 else np.arange(self.posts.problem.n_nodes)
        return list(dict.fromkeys(cut for _, cut in self.cuts_of(chosen, asking, nested)))

    def cuts_of(self, chosen: Booleans, nodes: Indices, nested: int = 2) -> Iterator[tuple[int, SetCut]]:
        """Cuts that a set breaks, each with the node that the set does not serve; of these nodes alone."""
        if self._parts:
            for numbers, part in self._parts:
                for at, cut in part.cuts_of(chosen, np.flatnonzero(np.isin(numbers, nodes)), nested):
                    yield int(numbers[at]), cut
            return
        hops = self.posts.hops(chosen)
        delivery = node_deliveries(self.posts, chosen) if self.needs.least_delivery > 0 else None
        graph = chosen_graph(self.posts, chosen) if self.needs.wants_two.any() else None
        for node in nodes.tolist():
            if delivery is not None and delivery[node] < self.needs.least_delivery * (1 - EQUAL):
                yield from ((node, cut) for cut in self._thin_delivery(chosen, node))
            if self.needs.wants_two[node]:
                if disjoint_routes(self.posts, chosen, node, graph) is None:
                    yield from ((node, cut) for cut in self._two_routes(chosen, node, hops))
            elif hops[node] == FAR:
                yield from ((node, cut) for cut in self._no_route(chosen, node, 1, nested))

    def hop_cuts(self, chosen: Booleans, node: int, hops: int) -> list[SetCut]:
        """Cuts for reaching a node within `hops` links, which the set does not."""
        for nodes, part in self._parts:
            for at in np.flatnonzero(nodes == node).tolist():
                return [replace(cut, hop=(node, hops)) for cut in part.hop_cuts(chosen, at, hops)]
        ahead = self._ahead(chosen, node, hops)
        thinned = self._behind(~ahead, node, hops)
        behind = self._behind(chosen, node, hops)
        sets = (thinned, self._ahead(~behind, node, hops))
        return [SetCut(_tuple(cut), 1, (node, hops)) for cut in sets]

    def _no_route(self, chosen: Booleans, node: int, least: int, nested: int) -> Iterator[SetCut]:
        most = self.posts.problem.most_hops
        wider = chosen
        for _ in range(nested):
            ahead = self._ahead(wider, node, most)
            yield SetCut(_tuple(self._behind(~ahead, node, most)), least)
            behind = self._behind(wider, node, most)
            yield SetCut(_tuple(self._ahead(~behind, node, most)), least)
            wider = wider | ahead | behind
            if self.posts.hops(wider)[node] < FAR:
                return

    def _two_routes(self, chosen: Booleans, node: int, hops: Levels) -> Iterator[SetCut]:
        posts = self.posts
        direct = posts.hears[posts.n :, node]
        if not direct.any():
            if hops[node] == FAR:
                yield from self._no_route(chosen, node, 2, 2)
                return
            for site in shortest_way(posts, chosen, node)[:-1]:
                without = chosen.copy()
                without[site] = False
                if posts.hops(without)[node] == FAR:
                    yield from self._no_route(without, node, 2, 1)
                    return
            yield SetCut(_tuple(self._thinned_by_trial(chosen, node)))
        elif posts.fixed[posts.n :].all():
            yield from self._no_route(chosen, node, 1, 1)  # the direct link is one route: any over relays will do
        else:
            yield SetCut(_tuple(self._ahead(chosen, node, posts.problem.most_hops)))

    def _thinned_by_trial(self, chosen: Booleans, node: int, trials: int = 40) -> Booleans:
        """Posts outside a set without two routes, less those with which all other posts together still fail."""
        cut = self._ahead(chosen, node, self.posts.problem.most_hops)
        for post in np.flatnonzero(cut)[:trials]:
            cut[post] = False
            if disjoint_routes(self.posts, self.posts.usable & ~cut, node) is not None:
                cut[post] = True
        return cut

    def _ahead(self, chosen: Booleans, node: int, hops: int) -> Booleans:
        """Posts at which a route of at most `hops` links may first leave the set."""
        levels = self.posts.levels(chosen & self.posts.usable)
        levels[self.posts.n :] = 0
        total = levels.astype(np.int32) + self.posts.hops_to_node[:, node]
        return ~chosen & self.posts.usable & (total <= hops)

    def _behind(self, chosen: Booleans, node: int, hops: int) -> Booleans:
        """Posts at which such a route may last be outside the set."""
        if self._levels is None:
            self._levels = self.posts.levels(self.posts.usable)
        back = np.where(self.posts.hears[:, node], np.int16(1), FAR)
        new = self.posts.hears[:, node] & chosen
        for hop in range(2, hops + 1):
            heard = self.posts.reaches[:, new].any(axis=1) & (back == FAR)
            back[heard] = hop
            new = heard & chosen
            if not new.any():
                break
        total = self._levels.astype(np.int32) + back
        return ~chosen & self.posts.usable & (total <= hops)

    def _thin_delivery(self, chosen: Booleans, node: int) -> Iterator[SetCut]:
        least = self.needs.least_delivery * (1 - EQUAL)
        if node not in self._to_node:
            self._to_node[node] = to_one_node(self.posts, node, self.posts.usable)
        if self._from_gateways is None:
            self._from_gateways = from_gateways(self.posts, self.posts.usable)

        def ahead(passing: Booleans) -> Booleans:
            return ~passing & (_joined(self._start(passing), self._to_node[node]) >= least)

        def behind(passing: Booleans) -> Booleans:
            end = spread(self.posts.to_node[:, node], self.posts.links, passing, self.posts.problem.most_hops - 1)
            assert self._from_gateways is not None
            return ~passing & (_joined(self._from_gateways, end) >= least)

        yield SetCut(_tuple(behind(~ahead(chosen)) & self.posts.usable))
        yield SetCut(_tuple(ahead(~behind(chosen)) & self.posts.usable))

    def _start(self, passing: Booleans) -> Floats:
        """As `from_gateways`, but gateways outside the set are reached too: at no cost, without passing on."""
        start = np.zeros(self.posts.count)
        start[self.posts.n :] = 1.0
        return spread(start, self.posts.links_in, passing, self.posts.problem.most_hops - 1)


def _joined(start: Floats, end: Floats) -> Floats:
    """Greatest product over all ways to share the links between the part before a post and the part after it."""
    best: Floats = (start * end[::-1]).max(axis=0)
    return best


def _tuple(cut: Booleans) -> tuple[int, ...]:
    return tuple(int(post) for post in np.flatnonzero(cut))
