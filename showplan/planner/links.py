"""The radio links of a network: received power and margin of each, in both directions.

A link has a gateway or relay at one end at least: receivers do not pass anything on. A node that moves in a zone is
judged where it is worst served.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showplan import reference
from showplan.physics.link_budget import link_margin_db, received_power_dbm
from showplan.planner.positions import Positions, positions
from showplan.planner.propagation import Propagation
from showplan.planner.scene import Network, Node, NodeType, Scene

Floats = NDArray[np.float64]
LINK_FORMULAS = (
    "log_distance_loss_db",
    "walls_loss_db",
    "floor_loss_db",
    "received_power_dbm",
    "link_margin_db",
)
BODY_POSTURE: reference.Posture = "side"


@dataclass(frozen=True)
class Link:
    """One directed link. `margin_db` is what is left after sensitivity and the venue's fade margin."""

    transmitter: str
    receiver: str
    distance_m: float
    path_loss_db: float
    received_dbm: float
    margin_db: float

    @property
    def is_usable(self) -> bool:
        """Whether the link keeps the fade margin."""
        return self.margin_db >= 0


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

    def __iter__(self) -> Iterator[Link]:
        for i, j in zip(*np.nonzero(~np.isnan(self.margin_db)), strict=True):
            yield self._link(i, j)

    def link(self, transmitter: str, receiver: str) -> Link:
        """The link between two nodes by label; its values are NaN where the two cannot have one."""
        return self._link(self.labels.index(transmitter), self.labels.index(receiver))

    def best_into(self, receiver: str) -> Link | None:
        """The strongest link from a gateway or relay into `receiver`, usable or not; None if there is none."""
        j = self.labels.index(receiver)
        senders = [i for i, role in enumerate(self.roles) if role != "receiver" and not np.isnan(self.margin_db[i, j])]
        return self._link(max(senders, key=lambda i: self.margin_db[i, j]), j) if senders else None

    def _link(self, i: int, j: int) -> Link:
        return Link(
            self.labels[i],
            self.labels[j],
            float(self.distance_m[i, j]),
            float(self.path_loss_db[i, j]),
            float(self.received_dbm[i, j]),
            float(self.margin_db[i, j]),
        )


def centre_frequency_mhz(network: Network) -> float | None:
    """The network's frequency, or None where its PHY has no such radio channel (a finding says so)."""
    try:
        return reference.phys()[network.phy].centre_frequency_mhz(network.radio_channel)
    except reference.UnknownRadioChannel:
        return None


def members(scene: Scene, network: Network) -> tuple[Node, ...]:
    """Placed nodes of the network whose radio speaks its PHY."""
    return tuple(
        node
        for node in scene.placed_nodes()
        if node.network == network.name and scene.node_type(node.node_type).phy == network.phy
    )


def network_links(scene: Scene, network: Network) -> NetworkLinks | None:
    """Every link of one network, or None where its frequency is unknown."""
    frequency_mhz = centre_frequency_mhz(network)
    if frequency_mhz is None:
        return None
    nodes = members(scene, network)
    backbone = [index for index, node in enumerate(nodes) if node.role != "receiver"]
    distance_m, loss_db = _between(scene, nodes, backbone, frequency_mhz)
    gain_db = np.array([end_gain_db(scene.node_type(node.node_type), node.is_worn, frequency_mhz) for node in nodes])
    types = [scene.node_type(node.node_type) for node in nodes]
    power_dbm = np.array([node_type.transmit_power_dbm for node_type in types])
    sensitivity_dbm = np.array([node_type.sensitivity_dbm for node_type in types])
    received_dbm = received_power_dbm(power_dbm[:, None], gain_db[:, None], gain_db[None, :], loss_db)
    return NetworkLinks(
        network=network.name,
        frequency_mhz=frequency_mhz,
        labels=tuple(node.label for node in nodes),
        roles=tuple(node.role for node in nodes),
        distance_m=distance_m,
        path_loss_db=loss_db,
        received_dbm=received_dbm,
        margin_db=link_margin_db(received_dbm, sensitivity_dbm[None, :], scene.venue.fade_margin_db),
    )


def end_gain_db(node_type: NodeType, is_worn: bool, frequency_mhz: float) -> float:
    """What one end adds to a link: antenna gain less cable and, for a worn node, less body loss."""
    body_db = reference.body_loss_db(frequency_mhz, BODY_POSTURE) if is_worn else 0.0
    return node_type.antenna_gain_dbi - node_type.cable_loss_db - body_db


def _between(scene: Scene, nodes: tuple[Node, ...], backbone: list[int], frequency_mhz: float) -> tuple[Floats, Floats]:
    """(distance, path loss) matrices (n, n) between nodes, at the points where the loss is greatest."""
    distance_m = np.full((len(nodes), len(nodes)), np.nan)
    loss_db = np.full_like(distance_m, np.nan)
    if not backbone:
        return distance_m, loss_db
    propagation = Propagation(scene, frequency_mhz)
    everyone = positions(scene, nodes)
    for index in backbone:
        row = positions(scene, [nodes[index]])
        distances, losses = _worst_points(row, everyone, propagation)
        distance_m[index], loss_db[index] = distances, losses
        distance_m[:, index], loss_db[:, index] = distances, losses
    np.fill_diagonal(distance_m, np.nan)
    np.fill_diagonal(loss_db, np.nan)
    return distance_m, loss_db


def _worst_points(one: Positions, everyone: Positions, propagation: Propagation) -> tuple[Floats, Floats]:
    """For each node: greatest loss from any point of `one` to any of its points, and the distance there."""
    loss_db = propagation.path_loss_db(one.points_m, everyone.points_m)
    distance_m = np.linalg.norm(one.points_m[:, None] - everyone.points_m[None], axis=-1)
    spans = list(zip(everyone.starts[:-1], everyone.starts[1:], strict=True))
    worst = [int(np.argmax(loss_db[:, start:end])) for start, end in spans]
    pick = [
        (distance_m[:, start:end].flat[at], loss_db[:, start:end].flat[at])
        for (start, end), at in zip(spans, worst, strict=True)
    ]
    distances, losses = np.array(pick, dtype=np.float64).reshape(-1, 2).T
    return distances, losses
