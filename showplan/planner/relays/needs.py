"""What every node needs, and whether a set of posts gives it: routes within the hops allowed, one or two disjoint."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from showplan.planner.relays.delivery import EQUAL, node_deliveries
from showplan.planner.relays.disjoint import chosen_graph, disjoint_routes
from showplan.planner.relays.posts import FAR, Indices, Posts
from showplan.planner.relays.problem import Booleans, Floats


@dataclass(frozen=True, eq=False)
class Needs:
    """Requirements that more posts can only help: routes of each node, and a least delivery of its best route."""

    posts: Posts
    least_delivery: float = 0.0

    @cached_property
    def parts(self) -> "tuple[tuple[Indices, Needs], ...]":
        """The same for each part of the graph, with the numbers of its nodes; empty where there is one graph."""
        return tuple((nodes, Needs(part, self.least_delivery)) for nodes, part in self.posts.parts)

    @cached_property
    def wants_two(self) -> Booleans:
        """(nodes,) whether a node wants two node-disjoint routes."""
        return np.asarray(np.array(self.posts.problem.routes) == 2)

    @cached_property
    def asking(self) -> Indices:
        """Nodes that have to be looked at: not served by a standing gateway, not served whenever another node is.

        A node is served with another when it hears at least the same posts and wants no more routes.
        """
        if self.parts:
            return np.sort(np.concatenate([nodes[part.asking] for nodes, part in self.parts]))
        standing = self.posts.fixed.copy()
        standing[: self.posts.n] = False
        direct = self.posts.hears[standing].sum(axis=0)
        open_nodes = np.flatnonzero(direct < np.where(self.wants_two, 2, 1))
        hears = self.posts.hears[:, open_nodes].T.astype(np.float32)
        wants = self.wants_two[open_nodes]
        size = hears.sum(axis=1)
        within = (hears @ hears.T == size[None, :]) & (wants[:, None] <= wants[None, :])  # [t, s]: s implies t
        order = np.arange(len(open_nodes))
        equal = within & within.T
        implied = (within & ~equal) | (equal & (order[None, :] < order[:, None]))
        return np.asarray(open_nodes[~implied.any(axis=1)])

    def served(self, chosen: Booleans) -> Booleans:
        """(nodes,) which nodes get what they need from a set."""
        if self.parts:
            served = np.zeros(self.posts.problem.n_nodes, dtype=bool)
            for nodes, part in self.parts:
                served[nodes] = part.served(chosen)
            return served
        served = self.posts.hops(chosen) < FAR
        if self.least_delivery > 0:
            served &= node_deliveries(self.posts, chosen) >= self.least_delivery * (1 - EQUAL)
        two = np.flatnonzero(served & self.wants_two)
        if len(two):
            graph = chosen_graph(self.posts, chosen)
            for node in two:
                served[node] = disjoint_routes(self.posts, chosen, int(node), graph) is not None
        return served

    def all_served(self, chosen: Booleans) -> bool:
        """Whether a set will do."""
        return bool(self.served(chosen).all())


def costs(posts: Posts, chosen: Booleans) -> float:
    """What a set costs."""
    return float(posts.cost[chosen].sum())


def weights_of_nodes(posts: Posts, nodes: Indices) -> Floats:
    """(nodes,) how much it is worth to reach each: nodes that few posts reach count more."""
    weight: Floats = np.zeros(posts.problem.n_nodes)
    weight[nodes] = 1.0 / np.maximum(posts.hears[:, nodes].sum(axis=0), 1) ** 0.5
    return weight
