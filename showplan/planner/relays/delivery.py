"""Routes of greatest delivery within the hops allowed: the product of the links' deliveries along the way."""

import numpy as np
from scipy.sparse import csr_array

from showplan.planner.relays.posts import Posts
from showplan.planner.relays.problem import Booleans, Floats

EQUAL = 1e-9  # deliveries that differ by less, relatively, are the same


def spread(start: Floats, links_in: csr_array, senders: Booleans, steps: int) -> Floats:
    """(steps + 1, posts): the greatest product of link deliveries from `start` over at most that many links.

    Only `senders` pass on; every post may receive. Row 0 is `start`, held by senders only where it is to be passed on.
    """
    rows = np.flatnonzero(np.diff(links_in.indptr))
    offsets = links_in.indptr[rows]
    best = np.zeros((steps + 1, len(start)))
    best[0] = start
    for step in range(1, steps + 1):
        best[step] = best[step - 1]
        if len(rows):
            sent = np.where(senders, best[step - 1], 0.0)
            arrived = np.maximum.reduceat(sent[links_in.indices] * links_in.data, offsets)
            best[step, rows] = np.maximum(best[step, rows], arrived)
    return best


def from_gateways(posts: Posts, chosen: Booleans) -> Floats:
    """(H, posts): greatest delivery from a chosen gateway to each post over chosen sites, by most links 0 .. H-1."""
    start = np.zeros(posts.count)
    start[posts.n :] = chosen[posts.n :]
    return spread(start, posts.links_in, chosen, posts.problem.most_hops - 1)


def to_one_node(posts: Posts, node: int, relaying: Booleans) -> Floats:
    """(H, posts): greatest delivery from each post to a node over `relaying` sites, by most further links 1 .. H.

    Row h is for h + 1 links. The post itself need not relay.
    """
    start = posts.to_node[:, node]
    reversed_links = posts.links  # row v: whom v reaches, so products run from the node back
    return spread(start, reversed_links, relaying, posts.problem.most_hops - 1)


def node_deliveries(posts: Posts, chosen: Booleans) -> Floats:
    """(nodes,) greatest delivery to each node over chosen sites within the hops allowed; 0 without a route."""
    if posts.parts:
        return posts.gathered(lambda part: node_deliveries(part, chosen))
    return _small(posts, chosen)[0]


def best_routes(posts: Posts, chosen: Booleans) -> tuple[Floats, list[tuple[int, ...]]]:
    """Deliveries as in `node_deliveries`, and for each node the posts of its best route, gateway first."""
    if posts.parts:
        way_of: dict[int, tuple[int, ...]] = {}
        for nodes, part in posts.parts:
            way_of.update(zip(nodes.tolist(), best_routes(part, chosen)[1], strict=True))
        return node_deliveries(posts, chosen), [way_of[node] for node in range(posts.problem.n_nodes)]
    delivery, members, steps = _small(posts, chosen)
    last = steps[-1][:, None] * posts.to_node[members]
    routes: list[tuple[int, ...]] = []
    within = posts.delivery[np.ix_(members, members)]
    for node, value in enumerate(delivery):
        if value <= 0:
            routes.append(())
            continue
        at = int(np.argmax(last[:, node]))
        way = [at]
        level = len(steps) - 1
        while members[way[0]] < posts.n:
            while level > 0 and steps[level - 1][way[0]] >= steps[level][way[0]]:
                level -= 1  # the fewest links that give this delivery
            level -= 1
            way.insert(0, int(np.argmax(steps[level] * within[:, way[0]])))
        routes.append(tuple(int(members[i]) for i in way))
    return delivery, routes


def _small(posts: Posts, chosen: Booleans) -> tuple[Floats, "np.ndarray[tuple[int], np.dtype[np.intp]]", list[Floats]]:
    """Deliveries to nodes, the chosen posts, and by most links 0 .. H-1 the greatest delivery to each of them."""
    members = np.flatnonzero(chosen)
    within = posts.delivery[np.ix_(members, members)]
    steps = [(members >= posts.n).astype(np.float64)]
    for _ in range(posts.problem.most_hops - 1):
        arrived = (steps[-1][:, None] * within).max(axis=0, initial=0.0)
        steps.append(np.maximum(steps[-1], arrived))
    if not len(members):
        return np.zeros(posts.problem.n_nodes), members, steps
    return (steps[-1][:, None] * posts.to_node[members]).max(axis=0), members, steps
