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
from showplan.physics.link_budget import link_margin_db, received_power_dbm
from showplan.planner.ends import End, body_losses, end_of, mean_body_loss_db, mismatch_db
from showplan.planner.obstacles import HouseState
from showplan.planner.phys import phy_of
from showplan.planner.positions import positions
from showplan.planner.propagation import Propagation
from showplan.planner.reception import Surroundings, surroundings_of
from showplan.planner.scene import Network, Node, Scene

Floats = NDArray[np.float64]
LINK_FORMULAS = ("received_power_dbm", "link_margin_db", "walls_loss_db", "floor_loss_db", "availability")
# The share of a zone that may be served worse than what a moving node is judged by.
WORST_SHARE = 0.05


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
    surroundings = surroundings_of(scene, network.phy, frequency_mhz, state)
    builder = _Builder(scene, nodes, surroundings)
    backbone = [index for index, node in enumerate(nodes) if node.role != "receiver"]
    senders = positions(scene, [nodes[index] for index in backbone])
    # All senders at once: the walls are gone through a single time.
    loss_db = Propagation(scene, frequency_mhz, state).path_loss_db(senders.points_m, builder.places.points_m)
    for index, rows in zip(backbone, senders.spans, strict=True):
        builder.add(index, loss_db[rows])
    return builder.links(network.name)


def closing_probability(sender: End, receiver: End, surroundings: Surroundings, margin_db: Floats) -> Floats:
    """Probability that a link closes at each spot, over the postures; `margin_db` (...) is without body loss."""
    moves = sender.moves or receiver.moves
    return sum(
        (
            share * surroundings.probability(margin_db - loss_db, receiver.node_type, moves=moves)
            for share, loss_db in body_losses(sender, receiver, surroundings.frequency_mhz)
        ),
        start=np.zeros(margin_db.shape),
    )


class _Builder:
    """Fills the matrices, one gateway or relay at a time: its row (it transmits) and its column (it receives)."""

    def __init__(self, scene: Scene, nodes: tuple[Node, ...], surroundings: Surroundings) -> None:
        self._nodes, self._surroundings = nodes, surroundings
        self._fade_margin_db = scene.venue.fade_margin_db
        self._ends = [end_of(scene, node) for node in nodes]
        self.places = positions(scene, nodes)
        # Nodes of one type, worn alike, at one place have the same links: each such sort is worked out once.
        self._sorts = [(node.node_type, node.is_worn, node.placement) for node in nodes]
        self._power_dbm = np.array([end.node_type.transmit_power_dbm for end in self._ends])
        self._needed_dbm = np.array([surroundings.needed_dbm(end.node_type) for end in self._ends])
        size = (len(nodes), len(nodes))
        self._matrices = tuple(np.full(size, np.nan) for _ in range(5))
        self._distance_m, self._loss_db, self._received_dbm, self._mean, self._worst = self._matrices

    def add(self, index: int, loss_db: Floats) -> None:
        """Links between node `index` and every other; `loss_db` is from each of its spots to every place."""
        places = self.places
        own = places.of(index)
        ray = places.points_m[None] - own[:, None]
        distance_m = np.linalg.norm(ray, axis=-1)
        direction = ray / np.maximum(distance_m, 1e-9)[..., None]
        toward_db = self._ends[index].pattern_db(direction)
        done: dict[object, int] = {}
        for other, sort in enumerate(self._sorts):
            if other == index or (self._nodes[other].role != "receiver" and other < index):
                continue
            if sort in done:
                self._copy(index, done[sort], other)
                continue
            done[sort] = other
            some = places.spans[other]
            back_db = self._ends[other].pattern_db(-direction[:, some])
            self._pair(index, other, distance_m[:, some], loss_db[:, some], toward_db[:, some] + back_db)

    def _copy(self, index: int, like: int, other: int) -> None:
        """Give `other` the links with `index` that its like has."""
        for matrix in self._matrices:
            matrix[index, other], matrix[other, index] = matrix[index, like], matrix[like, index]

    def _pair(self, i: int, j: int, distance_m: Floats, loss_db: Floats, pattern_db: Floats) -> None:
        """Both directions between nodes i and j, over every pair of their spots."""
        one, other = self._ends[i], self._ends[j]
        body_db = mean_body_loss_db(one, other, self._surroundings.frequency_mhz)
        other_losses_db = body_db + mismatch_db(one, other)
        # What reaches the other end of each 0 dBm sent; the same in both directions.
        through_db = received_power_dbm(0.0, one.gain_db, other.gain_db, loss_db, other_losses_db) + pattern_db
        spot = _worst_spot(through_db)
        for sender, receiver in ((i, j), (j, i)):
            at = (sender, receiver)
            received_dbm = self._power_dbm[sender] + through_db
            self._distance_m[at] = distance_m.flat[spot]
            self._loss_db[at] = loss_db.flat[spot]
            self._received_dbm[at] = received_dbm.flat[spot]
            margin_db = received_dbm - self._needed_dbm[receiver] + body_db
            chances = closing_probability(self._ends[sender], self._ends[receiver], self._surroundings, margin_db)
            self._mean[at], self._worst[at] = chances.mean(), chances.flat[spot]

    def links(self, network: str) -> NetworkLinks:
        """The finished matrices."""
        return NetworkLinks(
            network=network,
            frequency_mhz=self._surroundings.frequency_mhz,
            labels=tuple(node.label for node in self._nodes),
            roles=tuple(node.role for node in self._nodes),
            distance_m=self._distance_m,
            path_loss_db=self._loss_db,
            received_dbm=self._received_dbm,
            margin_db=link_margin_db(self._received_dbm, self._needed_dbm[None, :], self._fade_margin_db),
            delivery=self._mean,
            worst_delivery=self._worst,
        )


def _worst_spot(values: Floats) -> int:
    """Flat index of the value that WORST_SHARE of all fall short of."""
    rank = int(WORST_SHARE * values.size)
    return int(np.argpartition(values, rank, axis=None)[rank]) if values.size > 1 else 0
