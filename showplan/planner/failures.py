"""What survives a failure: each node's death, each link's loss, and the two relays whose joint loss hurts most.

Gateways and relays carry the show, so a failure is worked out on them alone: the best way to each with something
removed, then for every other node the best of its links. Several gateways stand in for each other.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra

from showplan.planner.links import NetworkLinks
from showplan.planner.routes import HOP_COST, LEAST_DELIVERY

Floats = NDArray[np.float64]
Booleans = NDArray[np.bool_]
# A route that loses less than this of its packets by a failure is not called weaker: a tenth of a percent.
NOTICED = 0.001


@dataclass(frozen=True)
class Weakened:
    """A node that is still heard after a failure, with a smaller delivery than before."""

    node: str
    before: float
    after: float


@dataclass(frozen=True)
class Failure:
    """What happens without `lost`: one node, a link (its two ends), or a pair of relays.

    `dark` nodes have no route left; `weakened` ones a worse one, the worst first. `worst_delivery` is the least among
    the nodes still heard; `lost_delivery` the sum over all nodes of what their delivery falls by: the measure of harm.
    """

    kind: str
    lost: tuple[str, ...]
    dark: tuple[str, ...]
    weakened: tuple[Weakened, ...]
    worst_delivery: float
    lost_delivery: float


@dataclass(frozen=True)
class FailureView:
    """Failures of one network, the worst first. `reached` nodes have a route while all is well."""

    network: str
    reached: int
    worst_delivery: float
    nodes: tuple[Failure, ...]
    links: tuple[Failure, ...]
    worst_pair: Failure | None


def failure_view(links: NetworkLinks) -> FailureView:
    """What the loss of each gateway, relay and link in use, and of the worst pair of relays, does to a network.

    Links on no best route change nothing and are left out.
    """
    network = _Network(links)
    well = network.deliveries(network.all_alive)
    carriers: list[int] = network.carriers.tolist()
    nodes = [network.failure("node", [index], well) for index in carriers]
    in_use = [network.failure("link", pair, well) for pair in network.links_in_use()]
    pairs = itertools.combinations([i for i in carriers if links.roles[i] == "relay"], 2)
    worst_pair = max(
        (network.failure("pair", pair, well) for pair in pairs), key=lambda one: one.lost_delivery, default=None
    )
    heard = well[well > 0]
    return FailureView(
        network=links.network,
        reached=len(heard),
        worst_delivery=float(heard.min()) if len(heard) else 0.0,
        nodes=_worst_first(nodes),
        links=_worst_first(one for one in in_use if one.dark or one.weakened),
        worst_pair=worst_pair if worst_pair and worst_pair.lost_delivery > 0 else None,
    )


class _Network:
    """The usable links as costs: HOP_COST minus the logarithm of the delivery, infinite where there is none."""

    def __init__(self, links: NetworkLinks) -> None:
        self.labels = links.labels
        roles = np.array(links.roles)
        self.carriers = np.flatnonzero(roles != "receiver")
        self._is_gateway = roles == "gateway"
        usable = (np.nan_to_num(links.margin_db, nan=-np.inf) >= 0) & (roles != "receiver")[:, None]
        delivery = np.maximum(np.nan_to_num(links.delivery, nan=0.0), LEAST_DELIVERY)
        self._cost = np.where(usable, HOP_COST - np.log(delivery), np.inf)
        self.all_alive = np.ones(len(roles), dtype=np.bool_)

    def deliveries(self, alive: Booleans, without: Sequence[int] = ()) -> Floats:
        """Delivery of the best route to each node (n,), 0 without one; `without` are the ends of a lost link."""
        cost = self._cost
        if without:
            cost = cost.copy()
            a, b = without
            cost[a, b] = cost[b, a] = np.inf
        total, hops, _ = self._best(cost, alive)
        return np.where(np.isfinite(total) & alive, np.exp(HOP_COST * hops - np.where(np.isinf(total), 0, total)), 0.0)

    def links_in_use(self) -> list[tuple[int, int]]:
        """Links of the best routes, as (transmitter, receiver)."""
        _, _, before = self._best(self._cost, self.all_alive)
        return [(int(before[node]), node) for node in range(len(before)) if before[node] >= 0]

    def failure(self, kind: str, lost: Sequence[int], well: Floats) -> Failure:
        """What the loss does, against the deliveries while all is `well`."""
        alive = self.all_alive.copy()
        if kind == "link":
            now = self.deliveries(alive, lost)
        else:
            alive[list(lost)] = False
            now = self.deliveries(alive)
        others = np.flatnonzero(alive & (well > 0))
        dark = [self.labels[i] for i in others if now[i] == 0]
        weaker = [i for i in others if 0 < now[i] < well[i] - NOTICED]
        heard = now[others][now[others] > 0]
        return Failure(
            kind=kind,
            lost=tuple(self.labels[i] for i in lost),
            dark=tuple(sorted(dark)),
            weakened=tuple(
                Weakened(self.labels[i], float(well[i]), float(now[i])) for i in sorted(weaker, key=lambda i: now[i])
            ),
            worst_delivery=float(heard.min()) if len(heard) else 0.0,
            lost_delivery=float((well[others] - now[others]).sum()),
        )

    def _best(self, cost: Floats, alive: Booleans) -> tuple[Floats, NDArray[np.intp], NDArray[np.intp]]:
        """Cost, hops and the node before, for the best route to every node; infinite, 0 and -1 without one."""
        carriers = self.carriers[alive[self.carriers]]
        count = len(self.labels)
        total, hops, before = np.full(count, np.inf), np.zeros(count, np.intp), np.full(count, -1, np.intp)
        roots = np.flatnonzero(self._is_gateway[carriers])
        if not len(roots):
            return total, hops, before
        among = np.nan_to_num(cost[np.ix_(carriers, carriers)], posinf=0.0)
        reached, came_from, _ = dijkstra(among, indices=roots, return_predecessors=True, min_only=True)
        total[carriers] = reached
        for here in np.argsort(reached, kind="stable"):
            if came_from[here] >= 0:
                before[carriers[here]] = carriers[came_from[here]]
                hops[carriers[here]] = hops[carriers[came_from[here]]] + 1
        ways = reached[:, None] + cost[carriers]
        choice = ways.argmin(axis=0)
        receivers = np.setdiff1d(np.arange(count), self.carriers)
        total[receivers] = ways[choice[receivers], receivers]
        found = receivers[np.isfinite(total[receivers])]
        before[found] = carriers[choice[found]]
        hops[found] = hops[before[found]] + 1
        return total, hops, before


def _worst_first(failures: "Iterator[Failure] | list[Failure]") -> tuple[Failure, ...]:
    return tuple(sorted(failures, key=lambda one: (-len(one.dark), -one.lost_delivery, one.lost)))
