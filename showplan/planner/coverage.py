"""How well each spot of a level is served: margin and delivery per grid cell and transmitter."""

from collections import Counter
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from showplan.geometry.sampling import grid_centres
from showplan.physics.link_budget import link_margin_db
from showplan.planner.ends import End, body_losses, end_of, listening_end, mean_body_loss_db, mismatch_db
from showplan.planner.links import centre_frequency_mhz, members
from showplan.planner.obstacles import HouseState
from showplan.planner.positions import node_points
from showplan.planner.propagation import Propagation
from showplan.planner.reception import surroundings_of
from showplan.planner.scene import Network, Node, NodeType, Scene

Floats32 = NDArray[np.float32]
DEFAULT_STEP_M = 0.5
DEFAULT_HEIGHT_M = 1.2
MOST_CELLS = 250_000
SENDERS_KEPT = 48  # of the finest grid about 2 MB each
# A spot counts as served where this share of packets arrives.
SERVED = 0.99


class CoverageError(ValueError):
    """A coverage that cannot be computed; the text says why and what would do."""


@dataclass(frozen=True)
class Listener:
    """The receiver for which coverage is computed: the sort most receivers of the network are."""

    node_type: NodeType
    is_worn: bool
    height_m: float


@dataclass(frozen=True)
class ZoneShare:
    """A zone of the level: share of its cells, 0 to 1, with a delivery of SERVED or more; mean and worst delivery."""

    zone: str
    served: float
    mean_delivery: float
    worst_delivery: float


@dataclass(frozen=True)
class Coverage:
    """Arrays (transmitters, rows, columns) float32 over cells centred at `y_m` and `x_m`.

    `margin_db` is above what the listener needs and the fade margin; `delivery` the probability that the link closes.
    """

    level: str
    network: str
    state: HouseState
    listener: Listener
    step_m: float
    x_m: NDArray[np.float64]
    y_m: NDArray[np.float64]
    transmitters: tuple[str, ...]
    margin_db: Floats32
    delivery: Floats32
    zones: tuple[tuple[str, tuple[tuple[float, float], ...]], ...]

    def best_margin_db(self) -> Floats32:
        """Margin (rows, columns) from the transmitter that serves each cell best."""
        best: Floats32 = self.margin_db.max(axis=0)
        return best

    def second_margin_db(self) -> Floats32:
        """Margin (rows, columns) that is left in each cell when its best transmitter dies; -inf with only one."""
        best = second = np.full(self.margin_db.shape[1:], -np.inf, dtype=np.float32)
        for margin_db in self.margin_db:
            second = np.maximum(second, np.minimum(best, margin_db))
            best = np.maximum(best, margin_db)
        return second

    def best_delivery(self) -> Floats32:
        """Delivery (rows, columns) from the transmitter that serves each cell best."""
        best: Floats32 = self.delivery.max(axis=0)
        return best

    def share_served(self) -> float:
        """Share of the cells, 0 to 1, in which some transmitter keeps the fade margin."""
        return float((self.best_margin_db() >= 0).mean())

    @cached_property
    def zone_shares(self) -> tuple[ZoneShare, ...]:
        """How each zone of the level is served; a zone smaller than a cell is judged by the cell of its middle."""
        delivery = self.best_delivery()
        return tuple(_zone_share(name, delivery[self._cells_of(corners)]) for name, corners in self.zones)

    def _cells_of(self, corners_m: tuple[tuple[float, float], ...]) -> NDArray[np.bool_]:
        x, y = np.meshgrid(self.x_m, self.y_m)
        polygon = shapely.Polygon(corners_m)
        inside: NDArray[np.bool_] = shapely.contains_xy(polygon, x, y)
        if not inside.any():
            middle = polygon.representative_point()
            row, column = np.abs(self.y_m - middle.y).argmin(), np.abs(self.x_m - middle.x).argmin()
            inside[row, column] = True
        return inside


def _zone_share(zone: str, delivery: Floats32) -> ZoneShare:
    return ZoneShare(zone, float((delivery >= SERVED).mean()), float(delivery.mean()), float(delivery.min()))


def coverage(
    scene: Scene,
    network: Network,
    level_name: str,
    *,
    step_m: float = DEFAULT_STEP_M,
    height_m: float = DEFAULT_HEIGHT_M,
    only: str | None = None,
    state: HouseState = "empty",
) -> Coverage:
    """Coverage of a level by the gateways and relays of a network, or by the one labelled `only`.

    Raises CoverageError where nothing transmits, the grid is too fine or the height is outside the level.
    """
    level = scene.level(level_name)
    frequency_mhz = centre_frequency_mhz(scene, network)
    nodes = [node for node in members(scene, network) if node.role != "receiver" and only in (None, node.label)]
    if frequency_mhz is None or not nodes:
        raise CoverageError(f"network {network.name!r} has no gateway or relay that transmits in this venue")
    if step_m <= 0 or (level.width_m / step_m) * (level.depth_m / step_m) > MOST_CELLS:
        finest_m = (level.width_m * level.depth_m / MOST_CELLS) ** 0.5
        raise CoverageError(f"grid step {step_m:g} m: must be at least {finest_m:.2f} m on level {level.name!r}")
    if not 0 <= height_m <= level.clear_height_m:
        raise CoverageError(f"height {height_m:g} m: must be from 0 to {level.clear_height_m:g} m on {level.name!r}")

    x_m, y_m = grid_centres(level.origin_m, level.width_m, level.depth_m, step_m)
    listener = listener_of(scene, network, height_m)
    grid = _Grid(level_name, step_m, height_m)
    margins, deliveries = zip(
        *(_served_by(_around(scene, network, node), grid, listener, state) for node in nodes), strict=True
    )
    return Coverage(
        level=level.name,
        network=network.name,
        state=state,
        listener=listener,
        step_m=step_m,
        x_m=x_m,
        y_m=y_m,
        transmitters=tuple(node.label for node in nodes),
        margin_db=np.asarray(margins, dtype=np.float32),
        delivery=np.asarray(deliveries, dtype=np.float32),
        zones=tuple((zone.name, zone.corners_m) for zone in scene.zones if zone.level == level.name),
    )


def listener_of(scene: Scene, network: Network, height_m: float) -> Listener:
    """The commonest sort of receiver in the network, worn if most of that sort are; else the transmitters' sort."""
    nodes = members(scene, network)
    receivers = [node for node in nodes if node.role == "receiver"] or list(nodes)
    [(sort, _)] = Counter((node.node_type, node.is_worn) for node in receivers).most_common(1)
    return Listener(scene.node_type(sort[0]), sort[1], height_m)


@dataclass(frozen=True)
class _Grid:
    level: str
    step_m: float
    height_m: float


def _around(scene: Scene, network: Network, node: Node) -> Scene:
    """The Scene without everything that has no part in how one transmitter serves a level."""
    zone = node.placement and node.placement.zone
    return replace(
        scene,
        nodes=(node,),
        networks=(network,),
        zones=tuple(one for one in scene.zones if one.name == zone),
        candidate_sites=(),
        supplies=(),
        loads=(),
        readings=(),
        traffics=(),
        feeds=(),
    )


@lru_cache(maxsize=SENDERS_KEPT)
def _served_by(scene: Scene, grid: _Grid, listener: Listener, state: HouseState) -> tuple[Floats32, Floats32]:
    """(margin, delivery) of each cell from the Scene's one node; one that moves counts from its worst place.

    Kept for the senders asked for last: after one node has moved only its own cells are worked out again.
    """
    [node], [network], level = scene.nodes, scene.networks, scene.level(grid.level)
    frequency_mhz = centre_frequency_mhz(scene, network)
    assert frequency_mhz is not None  # refused by the caller
    x_m, y_m = grid_centres(level.origin_m, level.width_m, level.depth_m, grid.step_m)
    z_m = level.elevation_m + grid.height_m
    propagation = Propagation(scene, frequency_mhz, state)
    surroundings = surroundings_of(scene, network.phy, frequency_mhz, state)
    end, ear = end_of(scene, node), listening_end(listener.node_type, is_worn=listener.is_worn)
    body_db = mean_body_loss_db(end, ear, frequency_mhz)
    sent_dbm = end.node_type.transmit_power_dbm + end.gain_db + ear.gain_db - mismatch_db(end, ear)
    received_dbm = np.full((len(y_m), len(x_m)), np.inf)
    for point_m in node_points(scene, node):
        loss_db = propagation.path_loss_on_grid_db(point_m, x_m, y_m, z_m)
        np.minimum(received_dbm, sent_dbm - loss_db + _pattern_db(end, point_m, x_m, y_m, z_m), out=received_dbm)
    above_needed_db = received_dbm - surroundings.needed_dbm(ear.node_type)
    margin_db = link_margin_db(above_needed_db - body_db, 0.0, scene.venue.fade_margin_db)
    delivery = sum(
        (
            share * surroundings.probability(above_needed_db - loss_db, ear.node_type, moves=True)
            for share, loss_db in body_losses(end, ear, frequency_mhz)
        ),
        start=np.zeros(received_dbm.shape),
    )
    found = np.asarray(margin_db, dtype=np.float32), np.asarray(delivery, dtype=np.float32)
    for array in found:
        array.flags.writeable = False  # several coverages share it
    return found


def _pattern_db(
    end: End, point_m: NDArray[np.float64], x_m: NDArray[np.float64], y_m: NDArray[np.float64], z_m: float
) -> NDArray[np.float64] | float:
    if end.node_type.antenna_pattern == "omni":
        return 0.0
    cells = np.stack(np.broadcast_arrays(x_m[None, :], y_m[:, None], np.float64(z_m)), axis=-1)
    ray = cells - point_m
    return end.pattern_db(ray / np.maximum(np.linalg.norm(ray, axis=-1), 1e-9)[..., None])
