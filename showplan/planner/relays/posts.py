"""A relay problem as one graph: candidate sites and gateways are its posts, and what they reach within the hops.

Where nodes have links of their own (`RelayProblem.own_links`) there is a graph for each group of nodes with the same
links, with the same posts: a part. What is said of nodes is then gathered from the parts; what is said of posts holds
for all links.

Posts 0 .. n-1 are the sites, n .. n+g-1 the gateways. A set of posts is a boolean array over all of them. A post's
level is the number of links from the nearest gateway of a set to it: 0 for a gateway. FAR stands for no way.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from showplan.planner.relays.own_links import split
from showplan.planner.relays.problem import Booleans, Floats, RelayProblem

Levels = NDArray[np.int16]
Indices = NDArray[np.intp]
FAR = np.int16(9999)
Scalar = TypeVar("Scalar", bound=np.generic)


@dataclass(frozen=True, eq=False)
class Posts:
    """The graph of a problem. `usable` says where a relay may stand at all; gateways are always usable."""

    problem: RelayProblem

    @property
    def n(self) -> int:
        """Number of sites: the first posts."""
        return self.problem.n_sites

    @cached_property
    def parts(self) -> "tuple[tuple[Indices, Posts], ...]":
        """Nodes that share their links, and the graph of these; empty where all nodes use all links."""
        return tuple((nodes, Posts(part)) for nodes, part in split(self.problem)) if self.problem.own_links else ()

    def part_of(self, node: int) -> "tuple[Posts, int]":
        """The graph in which a node is served, and its number there."""
        for nodes, part in self.parts:
            at = np.flatnonzero(nodes == node)
            if len(at):
                return part, int(at[0])
        return self, node

    def gathered(self, of_part: "Callable[[Posts], NDArray[Scalar]]") -> "NDArray[Scalar]":
        """(..., nodes) what is found of the nodes of each part, in the order of this problem's nodes."""
        order = np.argsort(np.concatenate([nodes for nodes, _ in self.parts]))
        return np.concatenate([of_part(part) for _, part in self.parts], axis=-1)[..., order]

    @cached_property
    def count(self) -> int:
        """Number of posts."""
        return self.problem.n_sites + self.problem.n_gateways

    @cached_property
    def usable(self) -> Booleans:
        """Posts that may be in a placement."""
        return np.concatenate([~self.problem.never, np.ones(self.problem.n_gateways, dtype=bool)])

    @cached_property
    def fixed(self) -> Booleans:
        """Posts that are in every placement: sites under `must`, gateways unless they are to choose."""
        stand = self.problem.gateways_standing == self.problem.n_gateways
        return np.concatenate([self.problem.must, np.full(self.problem.n_gateways, stand)])

    @cached_property
    def cost(self) -> Floats:
        """What each post costs; gateways nothing."""
        return np.concatenate([self.problem.cost, np.zeros(self.problem.n_gateways)])

    @cached_property
    def delivery(self) -> Floats:
        """(posts, posts) delivery from row to column; nothing leads into a gateway, nothing from or to a never site."""
        n = self.n
        full = np.zeros((self.count, self.count))
        full[:n, :n] = self.problem.site_to_site
        full[n:, :n] = self.problem.gateway_to_site
        full[~self.usable] = 0
        full[:, ~self.usable] = 0
        return full

    @cached_property
    def links(self) -> csr_array:
        """The same, links only."""
        return csr_array(self.delivery)

    @cached_property
    def links_in(self) -> csr_array:
        """Links with rows and columns exchanged: row v holds what v hears."""
        return csr_array(self.links.T.tocsr())

    @cached_property
    def reaches(self) -> Booleans:
        """(posts, posts) whether the link from row to column is usable."""
        return np.asarray(self.delivery > 0)

    def hops_from(self, post: int) -> Levels:
        """(posts,) fewest links from a post to each post over usable sites, as far as any route may go; FAR beyond."""
        hops = np.full(self.count, FAR)
        hops[post] = 0
        new = hops == 0
        for hop in range(1, self.problem.most_hops + 1):
            new = self.reaches[new].any(axis=0) & (hops == FAR)
            if not new.any():
                break
            hops[new] = hop
        return hops

    @cached_property
    def to_node(self) -> Floats:
        """(posts, nodes) delivery of the last link; 0 from a never site."""
        reach = np.concatenate([self.problem.site_to_node, self.problem.gateway_to_node])
        reach[~self.usable] = 0
        return reach

    @cached_property
    def hears(self) -> Booleans:
        """(posts, nodes) whether the last link is usable."""
        return self.to_node > 0

    @cached_property
    def hears_sparse(self) -> csr_array:
        """(posts, nodes) the same as a sparse matrix, for sums over nodes."""
        return csr_array(self.hears.astype(np.float64))

    @cached_property
    def hops_to_node(self) -> Levels:
        """(posts, nodes) fewest links from each post to each node over any usable sites."""
        if self.parts:
            return self.gathered(lambda part: part.hops_to_node)
        hops = np.where(self.hears, np.int16(1), FAR)
        adjacency = csr_array(self.links.astype(bool).astype(np.float32))
        new = self.hears
        for hop in range(2, self.problem.most_hops + 1):
            new = (adjacency @ new.astype(np.float32) > 0) & (hops == FAR)
            if not new.any():
                break
            hops[new] = hop
        return hops

    def levels(self, chosen: Booleans) -> Levels:
        """(posts,) links from the nearest chosen gateway to each post over chosen sites; the post itself may be any."""
        levels = np.full(self.count, FAR)
        new = chosen.copy()
        new[: self.n] = False
        levels[new] = 0
        for hop in range(1, self.problem.most_hops):
            heard = self.reaches[new].any(axis=0) & (levels == FAR)
            levels[heard] = hop
            new = heard & chosen
            if not new.any():
                break
        return levels

    def hops(self, chosen: Booleans) -> Levels:
        """(nodes,) fewest links from a chosen gateway to each node over chosen sites, FAR beyond the hops allowed."""
        if self.parts:
            return self.gathered(lambda part: part.hops(chosen))
        levels = self.levels(chosen)
        best = np.full(self.problem.n_nodes, FAR)
        members = np.flatnonzero(chosen & (levels < FAR))
        for post in members[np.argsort(-levels[members], kind="stable")]:
            best[self.hears[post]] = levels[post] + 1
        return best


def members(chosen: Booleans) -> tuple[int, ...]:
    """The set as ascending indices."""
    return tuple(int(post) for post in np.flatnonzero(chosen))
