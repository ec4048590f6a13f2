"""Walk-test readings of the demo: the forecast plus a seeded error, as a crew would note them down."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from random import Random

import numpy as np

from showplan.planner.links import centre_frequency_mhz
from showplan.planner.positions import positions
from showplan.planner.propagation import Propagation
from showplan.planner.scene import Network, NodeType, Scene
from showplan.records.models import Level, Node, Reading
from showplan.services.demo.drawing import Point
from showplan.services.demo.identity import key

# Spread of single readings about a good forecast; common practice, no source.
ERROR_SIGMA_DB = 4.0
# Readings that come this close to the sensitivity lose packets.
_LOSSY_ABOVE_SENSITIVITY_DB = 6.0
_WALK_HEIGHT_M = 1.2
_PACE = timedelta(minutes=2)


def readings_along(
    scene: Scene,
    level: Level,
    transmitter: Node,
    path_m: Sequence[Point],
    *,
    began_at: datetime,
    by: str,
    chance: Random,
) -> list[Reading]:
    """Readings, not yet written, of one placed transmitter at the points of a walk on a level.

    The receiver is carried at arm's length in the hand: a node of the transmitter's own type, not worn.
    """
    assert transmitter.network is not None
    network = scene.network(transmitter.network.name)
    receiver = scene.node_type(transmitter.node_type.name)
    forecast_dbm = _forecast_dbm(scene, network, transmitter.label, receiver, level, path_m)
    rows = []
    for number, ((x_m, y_m), mean_dbm) in enumerate(zip(path_m, forecast_dbm, strict=True)):
        error_db = chance.gauss(0.0, ERROR_SIGMA_DB)
        received_dbm, packet_error = _as_noted(mean_dbm + error_db, receiver.sensitivity_dbm, chance)
        rows.append(
            Reading(
                id=key("reading", scene.venue.name, transmitter.label, str(number)),
                level=level,
                x_m=x_m,
                y_m=y_m,
                height_m=_WALK_HEIGHT_M,
                transmitter=transmitter,
                receiver_type=transmitter.node_type,
                received_dbm=received_dbm,
                packet_error=packet_error,
                taken_at=began_at + number * _PACE,
                taken_by=by,
            )
        )
    return rows


def _forecast_dbm(
    scene: Scene, network: Network, label: str, receiver: NodeType, level: Level, path_m: Sequence[Point]
) -> list[float]:
    """Mean received power at each point, by the planner's own propagation."""
    frequency_mhz = centre_frequency_mhz(scene, network)
    assert frequency_mhz is not None
    points_m = np.array([(x_m, y_m, level.elevation_m + _WALK_HEIGHT_M) for x_m, y_m in path_m])
    from_m = positions(scene, [scene.node(label)]).points_m
    loss_db = Propagation(scene, frequency_mhz).path_loss_db(from_m, points_m)[0]
    sender = scene.node_type(scene.node(label).node_type)
    gains_db = sum(kind.antenna_gain_dbi - kind.cable_loss_db for kind in (sender, receiver))
    return [sender.transmit_power_dbm + gains_db - float(one_db) for one_db in loss_db]


def _as_noted(true_dbm: float, sensitivity_dbm: float, chance: Random) -> tuple[float | None, float]:
    """(received power in whole dBm, packet error); a receiver that hears nothing shows no power."""
    if true_dbm < sensitivity_dbm:
        return None, 1.0
    is_lossy = true_dbm < sensitivity_dbm + _LOSSY_ABOVE_SENSITIVITY_DB
    return float(round(true_dbm)), round(chance.uniform(0.05, 0.4), 2) if is_lossy else 0.0
