"""The layered graph: a copy of every post for each number of links at which it may stand from the gateways.

A route to a node is a path from level to level, so the hop limit is in the graph: the posts of a set of copies that
cuts a node off are an inequality that every placement keeps. All copies of a post share its column. (A column for each
copy gives a bound that is a few percent better, but takes so long that the exact search overtakes it.) Where groups of
nodes have links of their own, each has copies of its own, and no arc leads from one group's to another's.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import csr_array

from showplan.planner.relays.needs import Needs
from showplan.planner.relays.posts import FAR, Indices, Posts
from showplan.planner.relays.problem import Booleans, Floats


@dataclass(frozen=True, eq=False)
class Demand:
    """A node in the layered graph: `routes` still to be had over relays, ending in the copies `ends`."""

    node: int
    routes: int
    ends: Booleans


@dataclass(frozen=True, eq=False)
class Layers:
    """Copies of the posts of a pool, arcs between them and the columns of the model."""

    needs: Needs
    pool: Booleans

    @property
    def posts(self) -> Posts:
        """The graph."""
        return self.needs.posts

    @cached_property
    def _parts(self) -> "tuple[tuple[Indices, Needs], ...]":
        return self.needs.parts or ((np.arange(self.posts.problem.n_nodes), self.needs),)

    @cached_property
    def _copies(self) -> tuple[Indices, Indices, Indices]:
        most = self.posts.problem.most_hops
        pool = self.pool & self.posts.usable
        found = []
        for number, (_, needs) in enumerate(self._parts):
            posts = needs.posts
            first = posts.levels(pool)
            left = posts.hops_to_node[:, needs.asking].min(axis=1, initial=FAR)
            for post in np.flatnonzero(pool & (first < most)):
                last = first[post] if post >= posts.n else most - 1
                levels = range(first[post], last + 1)
                found += [(post, level, number) for level in levels if level + left[post] <= most]
        copies = np.array(found, dtype=np.intp).reshape(-1, 3)
        return copies[:, 0], copies[:, 1], copies[:, 2]

    @property
    def post(self) -> Indices:
        """(copies,) the post of each copy."""
        return self._copies[0]

    @property
    def level(self) -> Indices:
        """(copies,) its links from the gateways."""
        return self._copies[1]

    @property
    def part(self) -> Indices:
        """(copies,) the group of nodes whose links it has."""
        return self._copies[2]

    @cached_property
    def free(self) -> Booleans:
        """(copies,) false where the post is in every placement, so that cutting it is no use."""
        return ~self.posts.fixed[self.post]

    @cached_property
    def column(self) -> Indices:
        """(copies,) the column of each copy, -1 where its post is fixed."""
        column = np.full(len(self.post), -1)
        distinct, place = np.unique(self.post[self.free], return_inverse=True)
        column[self.free] = place if len(distinct) else 0
        return column

    @cached_property
    def post_of_column(self) -> Indices:
        """(columns,) which post a column stands for."""
        of_column = np.zeros(int(self.column.max(initial=-1)) + 1, dtype=np.intp)
        of_column[self.column[self.free]] = self.post[self.free]
        return of_column

    @cached_property
    def cost(self) -> Floats:
        """(columns,) what a column costs."""
        return self.posts.cost[self.post_of_column]

    @cached_property
    def onward(self) -> csr_array:
        """(copies, copies) arcs to the next level."""
        count = len(self.post)
        rows, columns = [np.zeros(0, dtype=np.intp)], [np.zeros(0, dtype=np.intp)]
        for number, (_, needs) in enumerate(self._parts):
            place = np.full((self.posts.problem.most_hops + 1, self.posts.count), -1)
            mine = np.flatnonzero(self.part == number)
            place[self.level[mine], self.post[mine]] = mine
            for level in range(self.posts.problem.most_hops - 1):
                here, there = np.flatnonzero(place[level] >= 0), np.flatnonzero(place[level + 1] >= 0)
                i, j = np.nonzero(needs.posts.reaches[np.ix_(here, there)])
                rows.append(place[level][here[i]])
                columns.append(place[level + 1][there[j]])
        at = (np.concatenate(rows), np.concatenate(columns))
        return csr_array((np.ones(len(at[0]), dtype=np.int8), at), shape=(count, count))

    @cached_property
    def back(self) -> csr_array:
        """(copies, copies) the same arcs the other way."""
        return csr_array(self.onward.T.tocsr())

    @cached_property
    def roots(self) -> Booleans:
        """(copies,) the gateways."""
        return np.asarray(self.level == 0)

    @cached_property
    def demands(self) -> tuple[Demand, ...]:
        """What the nodes that have to be looked at need, beside the direct links of standing gateways.

        Of a node that wants two routes and hears a gateway still to be chosen, one is asked for here: the rest is
        left to the cuts from sets.
        """
        standing = self.posts.fixed.copy()
        standing[: self.posts.n] = False
        demands = []
        for number, (nodes, needs) in enumerate(self._parts):
            for node in nodes[needs.asking]:
                hears = self.posts.hears[:, node]
                routes = int(self.posts.problem.routes[node] - (hears & standing).sum())
                if routes == 2 and hears[self.posts.n :].any():
                    routes = 1
                ends = (hears & ~standing)[self.post] & (self.part == number)
                demands.append(Demand(int(node), routes, ends))
        return tuple(demands)
