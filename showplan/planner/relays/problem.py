"""What is asked: which sites may relay, what reaches what, and what every node needs."""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from showplan.planner.faults import Fault
from showplan.planner.relays.own_links import OwnLinks, own_links_faults

Floats = NDArray[np.float64]
Booleans = NDArray[np.bool_]

MOST_SITES = 3000  # more make the matrices and the search too large for a shared server
SAME_BOTH_WAYS = 1e-9  # how far a link may differ between its two directions: rounding only


class RelayProblemError(ValueError):
    """A relay problem that cannot be posed. `faults` holds every reason, in the order of the problem's fields."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in faults))


@dataclass(frozen=True)
class AirLimit:
    """What one frame may cost in air time.

    `repeated`: every gateway and relay sends each packet of a frame once: (gateways + relays) * packet_s.
    `routed`: each node's own packet takes one transmission for each link on its way: the sum over nodes of
    hops * packet_s, where a node's hops are the fewest that the placement gives it.
    """

    kind: Literal["repeated", "routed"]
    packet_s: float
    allowed_s: float


@dataclass(frozen=True, eq=False)
class RelayProblem:
    """n candidate sites, m nodes, g gateways (or gateway sites); raises RelayProblemError with every fault.

    Delivery matrices hold the probability that a packet sent once arrives, in the worse of a link's two directions;
    0 where there is no usable link. A route leads from a gateway over chosen sites to a node and has at most
    `most_hops` links. Two routes of a node are node-disjoint when they share no relay; they may share the gateway,
    which is no relay. A direct link from a gateway is a route, and from two gateways two routes.

    `own_links` narrows the links for nodes whose every hop must be better than others'; a node in none uses all links.

    A site under `must` counts and costs, but need not itself have a route. With `gateways_to_choose` exactly that many
    of the g gateways stand. `most_relays` and the air limit count relays, `cost` weighs them.
    """

    site_names: tuple[str, ...]  # n
    node_names: tuple[str, ...]  # m
    site_to_site: Floats  # (n, n), symmetric, diagonal 0
    site_to_node: Floats  # (n, m)
    gateway_to_site: Floats  # (g, n)
    gateway_to_node: Floats  # (g, m)
    gateway_names: tuple[str, ...]  # g
    cost: Floats  # (n,), above 0; all 1 means fewest relays
    must: Booleans  # (n,) a relay stands here in any case
    never: Booleans  # (n,) no relay may stand here
    most_hops: int  # links from gateway to node: relays in a row + 1
    routes: tuple[int, ...]  # (m,) node-disjoint routes each node needs: 1 or 2
    most_relays: int | None = None
    gateways_to_choose: int | None = None  # None: all stand
    air: AirLimit | None = None
    own_links: tuple[OwnLinks, ...] = ()

    def __post_init__(self) -> None:
        """Make the arrays private, read-only and of one type; refuse what cannot be posed."""
        faults: list[Fault] = []
        for field in ("site_names", "node_names", "gateway_names", "routes"):
            object.__setattr__(self, field, tuple(getattr(self, field)))
        for field in (*_MATRICES, "cost", "must", "never"):
            kind = np.bool_ if field in ("must", "never") else np.float64
            try:
                array: NDArray[Any] = np.array(getattr(self, field), dtype=kind)
            except (TypeError, ValueError):
                faults.append(Fault(f"/{field}", "must be an array of numbers of one rectangular shape."))
                continue
            array.flags.writeable = False
            object.__setattr__(self, field, array)
        faults = faults or [*_size_faults(self)] or [*_shape_faults(self)]
        if not faults:
            faults = [*_value_faults(self), *_site_faults(self), *_limit_faults(self), *own_links_faults(self)]
        if faults:
            raise RelayProblemError(faults)

    @property
    def n_sites(self) -> int:
        """Number of candidate sites."""
        return len(self.site_names)

    @property
    def n_nodes(self) -> int:
        """Number of nodes to be served."""
        return len(self.node_names)

    @property
    def n_gateways(self) -> int:
        """Number of gateways, or of sites where one may stand."""
        return len(self.gateway_names)

    @property
    def gateways_standing(self) -> int:
        """How many gateways stand: all, or those to choose."""
        return self.n_gateways if self.gateways_to_choose is None else self.gateways_to_choose


_MATRICES = ("site_to_site", "site_to_node", "gateway_to_site", "gateway_to_node")


def _size_faults(problem: RelayProblem) -> list[Fault]:
    faults = []
    if not problem.site_names:
        faults.append(Fault("/site_names", "there is no candidate site; name at least one place for a relay."))
    if len(problem.site_names) > MOST_SITES:
        faults.append(
            Fault(
                "/site_names",
                f"{len(problem.site_names)} candidate sites are too many, at most {MOST_SITES};"
                " take a coarser grid of sites, or fewer levels or zones.",
            )
        )
    if not problem.node_names:
        faults.append(Fault("/node_names", "there is no node to reach; place at least one."))
    if not problem.gateway_names:
        faults.append(Fault("/gateway_names", "there is no gateway; place one, or name sites where one may stand."))
    for field in ("site_names", "node_names", "gateway_names"):
        names = getattr(problem, field)
        twice = sorted({str(name) for name in names if names.count(name) > 1}) if len(set(names)) < len(names) else []
        if twice:
            faults.append(Fault(f"/{field}", f"names must differ; more than once: {', '.join(twice[:6])}."))
    return faults


def _shape_faults(problem: RelayProblem) -> list[Fault]:
    n, m, g = problem.n_sites, problem.n_nodes, problem.n_gateways
    wanted = {
        "site_to_site": (n, n),
        "site_to_node": (n, m),
        "gateway_to_site": (g, n),
        "gateway_to_node": (g, m),
        "cost": (n,),
        "must": (n,),
        "never": (n,),
    }
    faults = [
        Fault(f"/{field}", f"has the shape {getattr(problem, field).shape}, must have {shape}.")
        for field, shape in wanted.items()
        if getattr(problem, field).shape != shape
    ]
    if len(problem.routes) != m:
        faults.append(Fault("/routes", f"has {len(problem.routes)} entries, must have one for each of {m} nodes."))
    return faults


def _value_faults(problem: RelayProblem) -> list[Fault]:
    faults = []
    for field in _MATRICES:
        values = getattr(problem, field)
        bad = np.argwhere(~((values >= 0) & (values <= 1)))
        if len(bad):
            row, column = bad[0]
            faults.append(
                Fault(
                    f"/{field}/{row}/{column}",
                    f"is {values[row, column]}, must be a probability from 0 to 1 ({len(bad)} such entries).",
                )
            )
    links = problem.site_to_site
    one_way = np.argwhere(~(np.abs(links - links.T) <= SAME_BOTH_WAYS))
    if len(one_way) and np.isfinite(links).all():
        row, column = one_way[0]
        faults.append(
            Fault(f"/site_to_site/{row}/{column}", "differs from the other direction; give the worse of both for both.")
        )
    if np.diagonal(links).any():
        faults.append(Fault("/site_to_site", "has links from a site to itself; the diagonal must be 0."))
    return faults


def _site_faults(problem: RelayProblem) -> list[Fault]:
    faults = []
    for site in np.flatnonzero(~(np.isfinite(problem.cost) & (problem.cost > 0)))[:6]:
        faults.append(
            Fault(f"/cost/{site}", f"{problem.site_names[site]} costs {problem.cost[site]}, must cost more than 0.")
        )
    for site in np.flatnonzero(problem.must & problem.never)[:6]:
        faults.append(
            Fault(
                f"/must/{site}", f"{problem.site_names[site]} must and must never have a relay; take one of them back."
            )
        )
    return faults


def _limit_faults(problem: RelayProblem) -> list[Fault]:
    faults = []
    if not _is_count(problem.most_hops, 1):
        faults.append(Fault("/most_hops", f"is {problem.most_hops}, must be a whole number, 1 (direct links) or more."))
    for node, wanted in enumerate(problem.routes):
        if not _is_count(wanted, 1) or wanted > 2:
            faults.append(
                Fault(f"/routes/{node}", f"{problem.node_names[node]} wants {wanted} routes, must be 1 or 2.")
            )
    if problem.most_relays is not None and not _is_count(problem.most_relays, 0):
        faults.append(Fault("/most_relays", f"is {problem.most_relays}, must be a whole number, 0 or more, or none."))
    chosen = problem.gateways_to_choose
    if chosen is not None and not (_is_count(chosen, 1) and chosen <= problem.n_gateways):
        faults.append(Fault("/gateways_to_choose", f"is {chosen}, must be from 1 to {problem.n_gateways}, or none."))
    if problem.air is not None:
        if problem.air.kind not in ("repeated", "routed"):
            faults.append(Fault("/air/kind", f"is {problem.air.kind!r}, must be 'repeated' or 'routed'."))
        for field in ("packet_s", "allowed_s"):
            seconds = getattr(problem.air, field)
            if not (np.isfinite(seconds) and seconds > 0):
                faults.append(Fault(f"/air/{field}", f"is {seconds}, must be more than 0 seconds."))
    return faults


def _is_count(number: object, least: int) -> bool:
    return isinstance(number, int | np.integer) and not isinstance(number, bool) and int(number) >= least
