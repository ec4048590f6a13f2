"""How well each spot of a level is served: margin per grid cell and transmitter."""

from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showplan.geometry.sampling import grid_centres
from showplan.physics.link_budget import link_margin_db, received_power_dbm
from showplan.planner.links import centre_frequency_mhz, end_gain_db, members
from showplan.planner.positions import positions
from showplan.planner.propagation import Propagation
from showplan.planner.scene import Network, NodeType, Scene

DEFAULT_STEP_M = 0.5
DEFAULT_HEIGHT_M = 1.2
MOST_CELLS = 250_000


class CoverageError(ValueError):
    """A coverage that cannot be computed; the text says why and what would do."""


@dataclass(frozen=True)
class Listener:
    """The receiver for which coverage is computed: the sort most receivers of the network are."""

    node_type: NodeType
    is_worn: bool
    height_m: float


@dataclass(frozen=True)
class Coverage:
    """Margin `margin_db (transmitters, rows, columns)` float32 over cells centred at `y_m` and `x_m`."""

    level: str
    network: str
    listener: Listener
    step_m: float
    x_m: NDArray[np.float64]
    y_m: NDArray[np.float64]
    transmitters: tuple[str, ...]
    margin_db: NDArray[np.float32]

    def best_margin_db(self) -> NDArray[np.float32]:
        """Margin (rows, columns) from the transmitter that serves each cell best."""
        best: NDArray[np.float32] = self.margin_db.max(axis=0)
        return best

    def share_served(self) -> float:
        """Share of the cells, 0 to 1, in which some transmitter keeps the fade margin."""
        return float((self.best_margin_db() >= 0).mean())


def coverage(
    scene: Scene,
    network: Network,
    level_name: str,
    *,
    step_m: float = DEFAULT_STEP_M,
    height_m: float = DEFAULT_HEIGHT_M,
    only: str | None = None,
) -> Coverage:
    """Coverage of a level by the gateways and relays of a network, or by the one labelled `only`.

    Raises CoverageError where nothing transmits, the grid is too fine or the height is outside the level.
    """
    level = scene.level(level_name)
    frequency_mhz = centre_frequency_mhz(network)
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
    propagation = Propagation(scene, frequency_mhz)
    to_gain_db = end_gain_db(listener.node_type, listener.is_worn, frequency_mhz)
    margins = []
    for node in nodes:
        node_type = scene.node_type(node.node_type)
        # A transmitter that moves serves a cell only as well as from its worst place.
        loss_db = np.full((len(y_m), len(x_m)), -np.inf)
        for point_m in positions(scene, [node]).points_m:
            from_here_db = propagation.path_loss_on_grid_db(point_m, x_m, y_m, level.elevation_m + height_m)
            np.maximum(loss_db, from_here_db, out=loss_db)
        from_gain_db = end_gain_db(node_type, node.is_worn, frequency_mhz)
        received_dbm = received_power_dbm(node_type.transmit_power_dbm, from_gain_db, to_gain_db, loss_db)
        margins.append(link_margin_db(received_dbm, listener.node_type.sensitivity_dbm, scene.venue.fade_margin_db))
    return Coverage(
        level=level.name,
        network=network.name,
        listener=listener,
        step_m=step_m,
        x_m=x_m,
        y_m=y_m,
        transmitters=tuple(node.label for node in nodes),
        margin_db=np.asarray(margins, dtype=np.float32),
    )


def listener_of(scene: Scene, network: Network, height_m: float) -> Listener:
    """The commonest sort of receiver in the network, worn if most of that sort are; else the transmitters' sort."""
    nodes = members(scene, network)
    receivers = [node for node in nodes if node.role == "receiver"] or list(nodes)
    [(sort, _)] = Counter((node.node_type, node.is_worn) for node in receivers).most_common(1)
    return Listener(scene.node_type(sort[0]), sort[1], height_m)
