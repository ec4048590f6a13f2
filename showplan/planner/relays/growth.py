"""A first placement by cheapest routes, and better ones by taking relays away and growing again."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from showplan.planner.relays.disjoint import chosen_graph, disjoint_routes
from showplan.planner.relays.needs import Needs, costs, weights_of_nodes
from showplan.planner.relays.posts import FAR, Indices, Levels, Posts
from showplan.planner.relays.problem import Booleans, Floats

NEVER_COST = np.inf
LEAST_COST = 1e-3  # posts already chosen cost this little, so that of equal routes the shorter is taken


@dataclass(frozen=True, eq=False)
class Grower:
    """Adds cheapest routes to a set until all needs are met. Works on the sites of `pool` only."""

    needs: Needs
    pool: Booleans

    @property
    def posts(self) -> Posts:
        """The graph."""
        return self.needs.posts

    @cached_property
    def parts(self) -> "tuple[Grower, ...]":
        """One for each part of the graph; empty where there is one graph."""
        return tuple(Grower(part, self.pool) for _, part in self.needs.parts)

    @cached_property
    def node_weight(self) -> Floats:
        """(nodes,) worth of reaching each node that has to be looked at."""
        return weights_of_nodes(self.posts, self.needs.asking)

    @cached_property
    def _arcs(self) -> tuple[Indices, Indices, Indices]:
        """Into every site of the pool, from posts of the pool: senders, offsets, receivers."""
        inside = self.posts.links_in[np.flatnonzero(self.pool)][:, np.flatnonzero(self.pool)]
        places = np.flatnonzero(self.pool)
        rows = np.flatnonzero(np.diff(inside.indptr))
        return places[inside.indices], inside.indptr[rows], places[rows]

    def extra_costs(self, chosen: Booleans, price: Floats) -> tuple[Floats, Floats]:
        """(H, posts) least price of posts still to add for a route to each post, itself included, by most links."""
        steps = self.posts.problem.most_hops
        extra = np.full((steps, self.posts.count), NEVER_COST)
        paid = np.where(chosen, np.minimum(price, LEAST_COST), price)
        gateways = np.zeros(self.posts.count, dtype=bool)
        gateways[self.posts.n :] = chosen[self.posts.n :]
        extra[0, gateways] = 0.0
        senders, offsets, receivers = self._arcs
        for step in range(1, steps):
            extra[step] = extra[step - 1]
            if len(receivers):
                cheapest = np.minimum.reduceat(extra[step - 1][senders], offsets) + paid[receivers]
                extra[step, receivers] = np.minimum(extra[step, receivers], cheapest)
        return extra, paid

    def way_to(self, post: int, extra: Floats, paid: Floats) -> list[int]:
        """The posts of the cheapest route to a post, that post first."""
        step = len(extra) - 1
        way = [post]
        while way[-1] < self.posts.n:
            here = way[-1]
            while step > 0 and extra[step - 1, here] <= extra[step, here]:
                step -= 1
            heard = np.flatnonzero(self.posts.reaches[:, here] & self.pool)
            way.append(int(heard[np.argmin(extra[step - 1, heard] + paid[here])]))
            step -= 1
        return way

    def grow(self, chosen: Booleans, noise: Callable[[int], Floats] | None = None) -> Booleans | None:
        """Add routes until every node has what it needs; None where the pool cannot give it."""
        if self.parts:
            grown: Booleans | None = chosen
            for part in self.parts:
                grown = None if grown is None else part.grow(grown, noise)
            return grown
        chosen = chosen.copy()
        price = self.posts.cost.copy()
        if noise is not None:
            price *= noise(self.posts.count)
        while True:
            weight = np.where(self.posts.hops(chosen) == FAR, self.node_weight, 0.0)
            if not weight.any():
                break
            extra, paid = self.extra_costs(chosen, price)
            gain = self.posts.hears_sparse @ weight
            with np.errstate(divide="ignore", invalid="ignore"):
                score = np.where(gain > 0, extra[-1] / gain, NEVER_COST)
            best = int(np.argmin(score))
            if not np.isfinite(score[best]):
                return None
            chosen[self.way_to(best, extra, paid)] = True
        return self._second_routes(chosen, price) if self.needs.wants_two.any() else chosen

    def _second_routes(self, chosen: Booleans, price: Floats) -> Booleans | None:
        """Add, node by node, the cheapest route that shares no relay with the one there is."""
        for node in self.needs.asking[self.needs.wants_two[self.needs.asking]]:
            graph = chosen_graph(self.posts, chosen)
            if disjoint_routes(self.posts, chosen, int(node), graph) is not None:
                continue
            found = self.way_beside(int(node), chosen, price)
            if found is None:
                pair = disjoint_routes(self.posts, self._pool_beside(chosen), int(node))
                if pair is None:
                    return None
                found = [*pair[0], *pair[1]]
            chosen[found] = True
        return chosen

    def _pool_beside(self, chosen: Booleans) -> Booleans:
        """The sites of the pool and the gateways of a set."""
        sites = self.pool & (np.arange(self.posts.count) < self.posts.n)
        return chosen | sites

    def way_beside(self, node: int, chosen: Booleans, price: Floats) -> list[int] | None:
        """The cheapest route to a node that shares no relay with its shortest one; None where the pool has none."""
        first = shortest_way(self.posts, chosen, node)
        beside = price.copy()
        beside[[post for post in first if post < self.posts.n]] = NEVER_COST
        without = chosen.copy()
        without[[post for post in first if post < self.posts.n]] = False
        extra, paid = self.extra_costs(without, beside)
        last = np.where(self.posts.hears[:, node], extra[-1], NEVER_COST)
        if len(first) == 1:
            last[first[0]] = NEVER_COST  # the direct link is the first route
        best = int(np.argmin(last))
        return self.way_to(best, extra, paid) if np.isfinite(last[best]) else None

    def prune(self, chosen: Booleans, order: Indices) -> Booleans:
        """Take away, in this order, what no node needs. `chosen` must serve every node."""
        chosen = chosen.copy()
        nodes = self.needs.asking
        for post in order:
            if not chosen[post] or self.posts.fixed[post] or post >= self.posts.n:
                continue
            chosen[post] = False
            if not self._still_served(chosen, nodes):
                chosen[post] = True
        return chosen

    def _still_served(self, chosen: Booleans, nodes: Indices) -> bool:
        if self.parts:
            return all(part._still_served(chosen, part.needs.asking) for part in self.parts)
        if (small_hops(self.posts, chosen, nodes) == FAR).any():
            return False
        two = nodes[self.needs.wants_two[nodes]]
        if not len(two):
            return True
        graph = chosen_graph(self.posts, chosen)
        return all(disjoint_routes(self.posts, chosen, int(node), graph) is not None for node in two)


def small_hops(posts: Posts, chosen: Booleans, nodes: Indices) -> Levels:
    """As `Posts.hops` for some nodes; quicker for small sets."""
    inside = np.flatnonzero(chosen)
    level = np.where(inside >= posts.n, np.int16(0), FAR)
    within = posts.reaches[np.ix_(inside, inside)]
    new = level == 0
    for hop in range(1, posts.problem.most_hops):
        new = within[new].any(axis=0) & (level == FAR)
        if not new.any():
            break
        level[new] = hop
    hears = posts.hears[np.ix_(inside, nodes)]
    return np.asarray(np.where(hears, level[:, None], FAR).min(axis=0, initial=FAR))


def shortest_way(posts: Posts, chosen: Booleans, node: int) -> list[int]:
    """The posts of a route with fewest links to a node, which must have one; the gateway last."""
    levels = np.where(chosen, posts.levels(chosen), FAR)
    at = int(np.argmin(np.where(posts.hears[:, node], levels, FAR)))
    way = [at]
    while way[-1] < posts.n:
        heard = posts.reaches[:, way[-1]]
        way.append(int(np.argmin(np.where(heard, levels, FAR))))
    return way


def first_placement(needs: Needs, pool: Booleans) -> Booleans | None:
    """Fixed posts, gateways chosen one after another so that nodes are few links away, and cheapest routes."""
    posts = needs.posts
    chosen = posts.fixed.copy()
    while chosen[posts.n :].sum() < posts.problem.gateways_standing:
        hops = posts.hops_to_node[posts.n :]
        have = hops[chosen[posts.n :]].min(axis=0, initial=FAR)
        total = np.minimum(np.minimum(hops, have), posts.problem.most_hops + 5).sum(axis=1).astype(np.float64)
        total[chosen[posts.n :]] = np.inf
        chosen[posts.n + int(np.argmin(total))] = True
    return Grower(needs, pool & posts.usable).grow(chosen)


@dataclass(frozen=True, eq=False)
class Improver:
    """Destroy and repair with a budget of rounds, from a seed: the same rounds give the same placement."""

    grower: Grower
    random: np.random.Generator

    def round(self, chosen: Booleans, limit: float = np.inf) -> Booleans | None:
        """Another placement of at most the same cost near this one, or None."""
        posts = self.grower.posts
        movable = np.flatnonzero(chosen & ~posts.fixed & (np.arange(posts.count) < posts.n))
        if not len(movable):
            return None
        size = int(self.random.integers(1, min(len(movable), 7) + 1))
        centre = int(self.random.choice(movable))
        nearness = posts.hops_from(centre)[movable] + self.random.uniform(0, 1.5, len(movable))
        removed = movable[np.argsort(nearness)[:size]]
        bare = chosen.copy()
        bare[removed] = False
        if posts.problem.gateways_to_choose is not None and not posts.fixed[posts.n :].all():
            self._move_gateway(bare)
        grown = self.grower.grow(bare, lambda count: self.random.uniform(0.7, 1.3, count))
        if grown is None:
            return None
        order = np.flatnonzero(grown)
        order = self.random.permutation(order)[np.argsort(-posts.cost[order], kind="stable")] if len(order) else order
        pruned = self.grower.prune(grown, self.random.permutation(order))
        return pruned if costs(posts, pruned) <= min(costs(posts, chosen), limit) else None

    def _move_gateway(self, chosen: Booleans) -> None:
        """Now and then exchange one chosen gateway for another."""
        n = self.grower.posts.n
        standing = n + np.flatnonzero(chosen[n:])
        others = n + np.flatnonzero(~chosen[n:])
        if len(others) and self.random.random() < 0.3:
            chosen[int(self.random.choice(standing))] = False
            chosen[int(self.random.choice(others))] = True
