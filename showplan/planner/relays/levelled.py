"""The levelled model, for one route to each node: a column for each site at each number of links from a gateway.

A placement gives every relay that has a way to a gateway its level, the fewest links to one. So it picks at most one
copy of each site, costs as much, and each node has a path of copies, one a level. The least cost of copies with such
paths is therefore a bound on the cost of placements. Sharing one column among a site's copies (`layers.py`) is weaker
by several percent in wide halls: the same half relay serves as a near one and as a far one. A site that hears a
gateway is at level 1 and nowhere else. Gateways to be chosen count as if all stood, which can only help.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import csr_array

from showplan.planner.relays.dominated import implied_rows, undominated
from showplan.planner.relays.needs import Needs
from showplan.planner.relays.posts import FAR, Indices
from showplan.planner.relays.problem import Booleans, Floats

REACH_WORTH = 0.2  # of reaching a copy, in nodes served
CLEARINGS = 2  # passes over nodes and levels in which dominated ones are removed


@dataclass(frozen=True, eq=False)
class Levelled:
    """Copies, what they cost (fixed sites nothing), whom they hear, and at which copies each node's paths end."""

    post: Indices  # (copies,)
    level: Indices  # (copies,) links from the gateways, 1 or more
    cost: Floats  # (copies,)
    is_first: Booleans  # (copies,) hears a gateway
    heard: csr_array  # (copies, copies) row: copies one level nearer to the gateways
    ends: csr_array  # (nodes that have to be looked at, copies)

    @cached_property
    def steps(self) -> list[tuple[Indices, Indices, Booleans]]:
        """For each level: its copies, those one level nearer (of the first: none), and which row hears which column."""
        return [
            (outer, inner, self.heard[outer][:, inner].toarray() > 0)
            for outer, inner in (
                (np.flatnonzero(self.level == level), np.flatnonzero(self.level == level - 1))
                for level in range(1, int(self.level.max(initial=0)) + 1)
            )
        ]

    def likely_links(self, most: int) -> tuple[Indices, Indices]:
        """Senders and receivers: to each copy those heard that serve and reach most; to the first from the gateways.

        The gateways have the number behind the last copy.
        """
        worth = self.ends.sum(axis=0) + REACH_WORTH * np.diff(self.onward.indptr)
        first = np.flatnonzero(self.is_first)
        senders, receivers = [np.full(len(first), len(self.post))], [first]
        for copy in range(len(self.post)):
            heard = self.heard.indices[self.heard.indptr[copy] : self.heard.indptr[copy + 1]]
            best = heard[np.argsort(-worth[heard], kind="stable")[:most]]
            senders.append(best)
            receivers.append(np.full(len(best), copy))
        return np.concatenate(senders), np.concatenate(receivers)

    @cached_property
    def onward(self) -> csr_array:
        """(copies, copies) row: copies one level further out."""
        return _sorted(csr_array(self.heard.T))


def levelled(needs: Needs, clear: bool) -> Levelled:
    """The model of a problem; with `clear` without dominated copies, which keeps one cheapest placement at least."""
    posts = needs.posts
    n, most = posts.n, posts.problem.most_hops
    gateways = np.arange(posts.count) >= n
    direct = np.asarray(posts.hears[n:].any(axis=0))
    nodes = needs.asking[~direct[needs.asking]]
    first = posts.levels(posts.usable | gateways)
    first[n:] = FAR
    left = posts.hops_to_node[:, nodes].min(axis=1, initial=FAR).astype(np.int32)
    last = np.where(first == 1, 1, np.minimum(most - left, most - 1))
    pairs = [
        (post, level)
        for post in np.flatnonzero(posts.usable & (first < most))
        for level in range(first[post], last[post] + 1)
        if level + left[post] <= most
    ]
    post, level = np.array(pairs, dtype=np.intp).reshape(-1, 2).T
    place = np.full((most + 1, posts.count), -1)
    place[level, post] = np.arange(len(post))
    rows, columns = [np.zeros(0, dtype=np.intp)], [np.zeros(0, dtype=np.intp)]
    for near in range(1, most - 1):
        here, there = np.flatnonzero(place[near] >= 0), np.flatnonzero(place[near + 1] >= 0)
        i, j = np.nonzero(posts.reaches[np.ix_(here, there)])
        rows.append(place[near + 1][there[j]])
        columns.append(place[near][here[i]])
    at = (np.concatenate(rows), np.concatenate(columns))
    heard = csr_array((np.ones(len(at[0]), dtype=np.float32), at), shape=(len(post), len(post)))
    ends = csr_array(posts.hears[post][:, nodes].T.astype(np.float32))
    cost = np.where(posts.fixed, 0.0, posts.cost)[post]
    model = Levelled(post, level, cost, level == 1, _sorted(heard), _sorted(ends))
    return _cleared(model) if clear else model


def _cleared(model: Levelled) -> Levelled:
    for _ in range(CLEARINGS):
        before = model.ends.shape
        rows = np.flatnonzero(~implied_rows(model.ends))
        model = _part(model, rows, np.arange(len(model.post)))
        for level in range(int(model.level.max(initial=0)), 0, -1):
            here = model.level == level
            onward = model.onward[np.flatnonzero(here)]
            traits = (model.heard[np.flatnonzero(here)], onward, model.ends.T.tocsr()[np.flatnonzero(here)])
            stays = ~here
            stays[here] = undominated(traits, model.cost[here])
            model = _part(model, np.arange(model.ends.shape[0]), np.flatnonzero(stays))
        if model.ends.shape == before:
            break
    return model


def _part(model: Levelled, rows: Indices, copies: Indices) -> Levelled:
    return Levelled(
        model.post[copies],
        model.level[copies],
        model.cost[copies],
        model.is_first[copies],
        _sorted(model.heard[copies][:, copies]),
        _sorted(model.ends[rows][:, copies]),
    )


def _sorted(matrix: csr_array) -> csr_array:
    matrix = csr_array(matrix)
    matrix.sort_indices()
    return matrix
