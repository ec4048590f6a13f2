"""The radio links of a network, in both directions: received power, margin, and the probability that each closes.

A link has a gateway or relay at one end at least: receivers do not pass anything on. A node that moves in a zone is
judged over the zone: power and margin at the spot that only 5 % of the zone fall short of, delivery as the mean over
the zone and at that spot.
"""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from showplan import reference
from showplan.physics.link_budget import link_margin_db
from showplan.planner.obstacles import HouseState
from showplan.planner.pairs import Pair, pairs_of
from showplan.planner.phys import phy_of
from showplan.planner.scene import Network, Node, Scene

Floats = NDArray[np.float64]
LINK_FORMULAS = ("received_power_dbm", "link_margin_db", "walls_loss_db", "floor_loss_db", "availability")


@dataclass(frozen=True)
class Link:
    """One directed link. `margin_db` is what is left after what the receiver needs and the venue's fade margin.

    `delivery` is the probability, 0 to 1, that the link closes, over the places and postures of a node that moves;
    `worst_delivery` the same at its worst spot.
    """

    transmitter: str
    receiver: str
    distance_m: float
    path_loss_db: float
    received_dbm: float
    margin_db: float
    delivery: float
    worst_delivery: float

    @property
    def is_usable(self) -> bool:
        """Whether the link keeps the fade margin."""
        return bool(keeps_margin(self.margin_db))


def keeps_margin(margin_db: float | Floats) -> Any:
    """Whether a link with this margin can be used; for an array, which can."""
    return margin_db >= 0


@dataclass(frozen=True)
class NetworkLinks:
    """All links of one network. Matrices are (n, n) in the order of `labels`, [transmitter, receiver]; NaN: no link."""

    network: str
    frequency_mhz: float
    labels: tuple[str, ...]
    roles: tuple[str, ...]
    distance_m: Floats
    path_loss_db: Floats
    received_dbm: Floats
    margin_db: Floats
    delivery: Floats
    worst_delivery: Floats

    def __iter__(self) -> Iterator[Link]:
        return (Link(*values) for values in zip(*self.columns().values(), strict=True))

    def columns(self) -> dict[str, list[Any]]:
        """All links as columns, by the names of a Link's fields and in their order."""
        rows, columns = np.nonzero(~np.isnan(self.margin_db))
        ends = [[self.labels[i] for i in indices.tolist()] for indices in (rows, columns)]
        numbers = [matrix[rows, columns].tolist() for matrix in self._matrices]
        return dict(zip((field.name for field in fields(Link)), [*ends, *numbers], strict=True))

    def link(self, transmitter: str, receiver: str) -> Link:
        """The link between two nodes by label; its values are NaN where the two cannot have one."""
        return self._link(self.labels.index(transmitter), self.labels.index(receiver))

    def best_into(self, receiver: str) -> Link | None:
        """The strongest link from a gateway or relay into `receiver`, usable or not; None if there is none."""
        j = self.labels.index(receiver)
        senders = [i for i, role in enumerate(self.roles) if role != "receiver" and not np.isnan(self.margin_db[i, j])]
        return self._link(max(senders, key=lambda i: self.margin_db[i, j]), j) if senders else None

    @property
    def _matrices(self) -> tuple[Floats, ...]:
        """The matrices in the order of a Link's fields."""
        budget = (self.distance_m, self.path_loss_db, self.received_dbm, self.margin_db)
        return (*budget, self.delivery, self.worst_delivery)

    def _link(self, i: int, j: int) -> Link:
        return Link(self.labels[i], self.labels[j], *(float(matrix[i, j]) for matrix in self._matrices))


def centre_frequency_mhz(scene: Scene, network: Network) -> float | None:
    """The network's frequency, or None where its PHY has no such radio channel (a finding says so)."""
    try:
        return phy_of(scene, network.phy).centre_frequency_mhz(network.radio_channel)
    except reference.UnknownRadioChannel:
        return None


def members(scene: Scene, network: Network) -> tuple[Node, ...]:
    """Placed nodes of the network whose radio speaks its PHY."""
    return tuple(
        node
        for node in scene.placed_nodes()
        if node.network == network.name and scene.node_type(node.node_type).phy == network.phy
    )


def network_links(scene: Scene, network: Network, state: HouseState = "empty") -> NetworkLinks | None:
    """Every link of one network in one state of the house, or None where its frequency is unknown."""
    frequency_mhz = centre_frequency_mhz(scene, network)
    if frequency_mhz is None:
        return None
    nodes = members(scene, network)
    pairs = pairs_of(scene, network.phy, frequency_mhz, state)
    carries = [node.role != "receiver" for node in nodes]
    wanted = [
        (one, [other for other in range(len(nodes)) if other != one and (other > one or not carries[other])])
        for one in range(len(nodes))
        if carries[one]
    ]
    matrices = tuple(np.full((len(nodes), len(nodes)), np.nan) for _ in range(5))
    distance_m, loss_db, received_dbm, delivery, worst_delivery = matrices
    for (one, others), found in zip(wanted, pairs.between(nodes, wanted), strict=True):
        values = np.array(found, dtype=np.float64).reshape(-1, len(Pair._fields)).T
        distance_m[one, others] = distance_m[others, one] = values[0]
        loss_db[one, others] = loss_db[others, one] = values[1]
        received_dbm[one, others], received_dbm[others, one] = values[2:4]
        delivery[one, others], delivery[others, one] = values[4:6]
        worst_delivery[one, others], worst_delivery[others, one] = values[6:8]
    needed_dbm = np.array([pairs.surroundings.needed_dbm(scene.node_type(node.node_type)) for node in nodes])
    return NetworkLinks(
        network=network.name,
        frequency_mhz=frequency_mhz,
        labels=tuple(node.label for node in nodes),
        roles=tuple(node.role for node in nodes),
        distance_m=distance_m,
        path_loss_db=loss_db,
        received_dbm=received_dbm,
        margin_db=link_margin_db(received_dbm, needed_dbm[None, :], scene.venue.fade_margin_db),
        delivery=delivery,
        worst_delivery=worst_delivery,
    )
