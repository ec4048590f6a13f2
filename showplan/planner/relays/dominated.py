"""Candidates that another one replaces at no greater cost, and nodes that are served whenever another one is.

For the proof of the first stage only: a dominated site may be the better one for delivery or air time, and is as good
as any in a placement of the same cost.
"""

from collections.abc import Sequence

import numpy as np
from scipy.sparse import csr_array, hstack

from showplan.planner.relays.problem import Booleans, Floats


def undominated(traits: Sequence[csr_array], cost: Floats) -> Booleans:
    """(candidates,) which candidates no other one replaces.

    `traits` are 0-1 matrices (candidates, ...): what a candidate hears, whom it reaches, which nodes. Whoever has all
    traits of another at no greater cost can stand in its place: every path through the one leads through the other.
    Of candidates alike the first stays. Removing all dominated ones at once is safe, for the relation has no rings.
    """
    together = csr_array(hstack(traits).astype(np.float32))
    shared = (together @ together.T).toarray()
    size = shared.diagonal()
    covers = (shared == size[:, None]) & (cost[None, :] <= cost[:, None])  # [s, t]: t has all that s has
    order = np.arange(len(cost))
    replaced = covers & (~covers.T | (order[None, :] < order[:, None]))
    np.fill_diagonal(replaced, False)
    return np.asarray(~replaced.any(axis=1))


def implied_rows(ends: csr_array) -> Booleans:
    """(nodes,) which nodes are served whenever another one is: all ends of the other one's paths are ends of theirs.

    `ends` is 0-1, (nodes, candidates). Of nodes alike the first stays.
    """
    shared = (ends @ ends.T).toarray()
    size = shared.diagonal()
    within = shared == size[None, :]  # [t, s]: the ends of s are all ends of t
    order = np.arange(len(size))
    implied = within & (~within.T | (order[None, :] < order[:, None]))
    np.fill_diagonal(implied, False)
    return np.asarray(implied.any(axis=1))
