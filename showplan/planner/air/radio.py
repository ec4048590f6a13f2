"""A network's nodes on the air: who hears whom, what one try delivers, and who is on the way to whom."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from showplan import reference
from showplan.planner.air.slots import SlotUse, slot_use
from showplan.planner.links import NetworkLinks
from showplan.planner.phys import phy_of
from showplan.planner.routes import Route
from showplan.planner.scene import Network, Node, Scene

Floats = NDArray[np.float64]
Booleans = NDArray[np.bool_]
# A channel counts as busy up to 10 dB above the sensitivity that the standard requires. From memory.
SENSING_OVER_SENSITIVITY_DB = 10.0


@dataclass(frozen=True)
class Radio:
    """Everything about a network's air that does not depend on its way of sending; arrays in the order of labels."""

    scene: Scene
    network: Network
    phy: reference.Phy
    links: NetworkLinks
    routes: Mapping[str, Route]
    use: SlotUse

    @cached_property
    def nodes(self) -> tuple[Node, ...]:
        """The nodes, in the order of the links' labels."""
        return tuple(self.scene.node(label) for label in self.links.labels)

    @cached_property
    def index(self) -> dict[str, int]:
        """Place of each label."""
        return {label: i for i, label in enumerate(self.links.labels)}

    @cached_property
    def is_gateway(self) -> Booleans:
        """Which nodes are gateways."""
        return np.array([role == "gateway" for role in self.links.roles], dtype=bool)

    @cached_property
    def is_relay(self) -> Booleans:
        """Which nodes are relays."""
        return np.array([role == "relay" for role in self.links.roles], dtype=bool)

    @cached_property
    def delivery(self) -> Floats:
        """(n, n) share of packets that one try delivers, 0 where there is no link."""
        return np.nan_to_num(self.links.delivery, nan=0.0)

    @cached_property
    def senses(self) -> Booleans:
        """(n, n) whether the second node finds the channel busy while the first sends."""
        threshold_dbm = self.phy.required_sensitivity_dbm + SENSING_OVER_SENSITIVITY_DB
        return np.nan_to_num(self.links.received_dbm, nan=-np.inf) >= threshold_dbm

    @cached_property
    def hears(self) -> Booleans:
        """(n, n) whether the first node's packets fill the channel for the second; a node hears itself."""
        sensitivity_dbm = np.array([self.scene.node_type(node.node_type).sensitivity_dbm for node in self.nodes])
        received_dbm = np.nan_to_num(self.links.received_dbm, nan=-np.inf)
        found: Booleans = self.senses | (received_dbm >= sensitivity_dbm[None, :])
        np.fill_diagonal(found, True)
        return found

    @cached_property
    def home(self) -> dict[str, int]:
        """For each node that a gateway reaches by some link, the gateway with the best one."""
        gateways = np.nonzero(self.is_gateway)[0]
        if not gateways.size:
            return {}
        best = gateways[np.argmax(self.delivery[gateways], axis=0)]
        return {label: int(best[i]) for i, label in enumerate(self.links.labels) if self.delivery[best[i], i] > 0}

    def way(self, label: str) -> tuple[int, ...]:
        """The nodes of the best route, gateway first; empty where there is none."""
        route = self.routes.get(label)
        return tuple(self.index[name] for name in route.nodes) if route else ()


def radio_of(scene: Scene, network: Network, links: NetworkLinks, routes: Mapping[str, Route]) -> Radio:
    """The radio of one network in one state of the house."""
    nodes = [scene.node(label) for label in links.labels]
    return Radio(scene, network, phy_of(scene, network.phy), links, routes, slot_use(scene, nodes))
