"""What is answered: placements, how far they are proven, and why there is none."""

from dataclasses import dataclass
from typing import Literal

State = Literal["optimal", "feasible", "infeasible", "cancelled-without"]
ReasonCode = Literal[
    "not-reached",  # no candidate and no gateway reaches the node at all
    "too-many-hops",  # reached, but over more links than allowed
    "one-route-only",  # one route, not the two wanted
    "two-routes-too-long",  # two routes, but only over more links than allowed
    "too-few-relays",  # the truck holds fewer than needed
    "too-much-air",  # a frame takes longer than allowed
    "too-few-gateways",  # of the gateways to choose from
    "never-in-the-way",  # only sites where no relay may stand would do
    "together",  # each limit could be met alone, not all at once
]


@dataclass(frozen=True)
class RelayPlacement:
    """Chosen sites and what they give. Sites, gateways and nodes are indices into the problem's names.

    `routes` holds for each node the sites on its best route (greatest delivery within the hops allowed), gateway end
    first, empty for a direct link; `route_gateways` the gateway it starts from. `disjoint_routes` holds, for a node
    that wants two, a pair of node-disjoint routes (sites only) within the hops allowed; empty for the other nodes.
    """

    sites: tuple[int, ...]  # ascending
    gateways: tuple[int, ...]  # all, or the chosen ones, ascending
    cost: float
    worst_delivery: float  # least over the nodes of the best route's delivery (product of its links)
    air_s: float  # of one frame by the problem's air limit; without one: routed, packets of 1 s
    routes: tuple[tuple[int, ...], ...]
    route_gateways: tuple[int, ...]
    disjoint_routes: tuple[tuple[tuple[int, ...], ...], ...] = ()

    @property
    def relays(self) -> int:
        """How many relays it takes."""
        return len(self.sites)


@dataclass(frozen=True)
class TradePoint:
    """The best worst delivery found with at most `relays_allowed` relays, whatever they cost.

    `is_proven` is true when no placement of so many relays does better.
    """

    relays_allowed: int
    worst_delivery: float
    is_proven: bool
    placement: RelayPlacement


@dataclass(frozen=True)
class Reason:
    """Why there is no placement: the limit that stands in the way and the smallest value of it that would do.

    `limit` names a field of the problem (`most_hops`, `most_relays`, `routes`, `never`, `gateways_to_choose`,
    `air.allowed_s`, or `site_names` where only a new site helps). `smallest` is None where it is not known; where
    `is_bound` is true, no less than it would do, but it is not sure to do.
    """

    code: ReasonCode
    sentence: str
    limit: str
    smallest: float | None = None
    is_bound: bool = False
    nodes: tuple[int, ...] = ()
    sites: tuple[int, ...] = ()


@dataclass(frozen=True)
class MostServed:
    """The most nodes found that at most `relays_allowed` relays serve, where they are too few for all.

    No choice of so many relays serves more than `bound` nodes.
    """

    relays_allowed: int
    sites: tuple[int, ...]  # ascending
    gateways: tuple[int, ...]
    nodes: tuple[int, ...]  # those served
    bound: int

    @property
    def is_proven(self) -> bool:
        """Whether no choice serves more."""
        return len(self.nodes) == self.bound


@dataclass(frozen=True)
class RelayAnswer:
    """`optimal` only where the bound equals the cost; `gap` is (cost - bound) / cost.

    `stages_proven`: cost, worst delivery at that cost, air time at both: each proven best or not. A later stage is
    never proven where an earlier one is not. `alternatives` have the same cost and differ from the placement and each
    other in a fifth of the sites or more.
    """

    state: State
    placement: RelayPlacement | None
    bound: float  # no placement costs less
    gap: float
    stages_proven: tuple[bool, bool, bool] = (False, False, False)
    alternatives: tuple[RelayPlacement, ...] = ()
    trade: tuple[TradePoint, ...] = ()
    reasons: tuple[Reason, ...] = ()
    most_served: MostServed | None = None  # where the relays allowed are too few; not under a limit on routed air
