"""The readings of a walk test, gathered by spot: which can be used, what they say, and why others are left out."""

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from showplan.physics.constants import NEAREST_DISTANCE_M
from showplan.physics.free_space import free_space_loss_db
from showplan.planner.ends import end_of, listening_end, mean_body_loss_db, mismatch_db
from showplan.planner.faults import Fault
from showplan.planner.fitting import CalibrationError
from showplan.planner.links import centre_frequency_mhz
from showplan.planner.positions import node_points
from showplan.planner.scene import Network, Node, NodeType, Reading, Scene

Floats = NDArray[np.float64]
Point = tuple[float, float, float]  # metres

FEWEST_READINGS: Final = 3
LOST_PACKET_ERROR: Final = 0.01  # IEEE 802.15.4-2006 6.1.7: sensitivity is where packet error reaches 1 %


@dataclass(frozen=True)
class Spot:
    """Readings of one transmitter by one receiver type at one place; points are (1, 3) in metres.

    `budget_db` is what would be received in dBm without any path loss; `mean_dbm` what was received, or the
    sensitivity below which it was where the spot `is_lost`.
    """

    indices: tuple[int, ...]
    place: tuple[Any, ...]
    from_m: Floats
    to_m: Floats
    budget_db: float
    is_lost: bool
    mean_dbm: float


def usable_spots(scene: Scene, network: Network, network_mhz: float, left_out: dict[int, str]) -> list[Spot]:
    """The usable readings by spot; why the others are left out goes to `left_out`, by their index.

    What stands in `left_out` beforehand is not looked at.
    """
    senders: dict[str, str | Point] = {}
    gathered: dict[tuple[str, str], dict[tuple[Any, ...], list[int]]] = defaultdict(lambda: defaultdict(list))
    for index, reading in enumerate(scene.readings):
        if index in left_out:
            continue
        if reading.transmitter not in senders:
            senders[reading.transmitter] = _sender(scene, network, scene.node(reading.transmitter))
        if reason := _why_left_out(scene, senders[reading.transmitter], reading):
            left_out[index] = reason
        else:
            place = (reading.level, reading.position_m, reading.height_m)
            gathered[reading.transmitter, reading.receiver_type][place].append(index)
    spots: list[Spot] = []
    for (label, receiver), places in sorted(gathered.items()):
        spots += _spots_of(scene, scene.node(label), scene.node_type(receiver), places, network_mhz, left_out)
    return spots


def _spots_of(
    scene: Scene,
    node: Node,
    receiver_type: NodeType,
    places: dict[tuple[Any, ...], list[int]],
    network_mhz: float,
    left_out: dict[int, str],
) -> list[Spot]:
    """The spots of one transmitter and one receiver type, whose two ends are the same at all of them."""
    frequency_mhz = _frequency_mhz(scene, node.label)
    assert frequency_mhz is not None  # such readings were left out
    # Other radio channels of the PHY differ by their free-space loss, a few tenths of a dB.
    shift_db = float(free_space_loss_db(1.0, frequency_mhz) - free_space_loss_db(1.0, network_mhz))
    from_m, sent_dbm = node_points(scene, node), scene.node_type(node.node_type).transmit_power_dbm
    ordered = sorted(places.items())
    to_m = np.array([_point(scene, scene.readings[indices[0]]) for _, indices in ordered])
    budgets_db = sent_dbm + _gains_db(scene, node, receiver_type, to_m - from_m, frequency_mhz) - shift_db
    spots = []
    for row, (place, indices) in enumerate(ordered):
        lost = [index for index in indices if _is_lost(scene, scene.readings[index])]
        is_lost = 2 * len(lost) >= len(indices)
        for index in indices:
            if (index in lost) != is_lost:
                left_out[index] = "most readings at this spot were " + ("lost" if is_lost else "received")
        counted = tuple(index for index in indices if index not in left_out)
        levels_dbm = [scene.readings[index].received_dbm or 0.0 for index in counted]
        mean_dbm = receiver_type.sensitivity_dbm if is_lost else math.fsum(levels_dbm) / len(levels_dbm)
        spots.append(Spot(counted, place, from_m, to_m[row : row + 1], float(budgets_db[row]), is_lost, mean_dbm))
    return spots


def _gains_db(scene: Scene, node: Node, receiver_type: NodeType, rays_m: Floats, frequency_mhz: float) -> Floats:
    """Everything (n,) along rays (n, 3) but the path: gains, pattern, polarisation, body of a worn sender."""
    end, ear = end_of(scene, node), listening_end(receiver_type, is_worn=False)
    pattern_db = end.pattern_db(rays_m / np.linalg.norm(rays_m, axis=-1, keepdims=True))
    lost_db = mismatch_db(end, ear) + mean_body_loss_db(end, ear, frequency_mhz)
    return end.gain_db + ear.gain_db + pattern_db - lost_db


def refuse_too_few(spots: list[Spot]) -> None:
    """Raise CalibrationError where the spots cannot carry a fit."""
    readings = sum(len(s.indices) for s in spots)
    if readings < FEWEST_READINGS:
        message = f"{readings} can be used; a calibration needs {FEWEST_READINGS} at the least, at two places or more"
    elif len({s.place for s in spots}) < 2:
        message = "all were taken at one place; take some at other distances and behind other walls"
    elif all(s.is_lost for s in spots):
        message = "all were lost; take some nearer to the transmitter"
    else:
        return
    raise CalibrationError([Fault("/readings", message)])


def refuse_impossible(scene: Scene) -> None:
    """Raise CalibrationError with every reading that cannot be right."""
    if faults := impossible_readings(scene):
        raise CalibrationError(list(faults))


def impossible_readings(scene: Scene) -> dict[Fault, int]:
    """Every fault of readings that cannot be right, with the index of its reading."""
    nodes = {node.label: node for node in scene.nodes}
    known = {"level": {v.name for v in scene.levels}, "receiver_type": {t.name for t in scene.node_types}}
    faults: dict[Fault, int] = {}
    for index, reading in enumerate(scene.readings):
        at = f"/readings/{index}"
        for field, names in known.items():
            if getattr(reading, field) not in names:
                faults[Fault(f"{at}/{field}", f"there is no {getattr(reading, field)!r} in this Scene")] = index
        if reading.transmitter not in nodes:
            faults[Fault(f"{at}/transmitter", f"there is no {reading.transmitter!r} among the nodes")] = index
        elif reading.received_dbm is not None:
            sent_dbm = scene.node_type(nodes[reading.transmitter].node_type).transmit_power_dbm
            if reading.received_dbm > sent_dbm:
                message = f"{reading.received_dbm:g} dBm is more than {reading.transmitter!r} sends, {sent_dbm:g} dBm"
                faults[Fault(f"{at}/received_dbm", message)] = index
    return faults


def _sender(scene: Scene, network: Network, node: Node) -> str | Point:
    """Where a transmitter is, or why its readings are left out."""
    if node.placement is None or node.placement.position_m is None:
        return "the transmitter has no fixed point in this venue"
    if node.network is None or scene.network(node.network).phy != network.phy:
        return f"the transmitter does not use the PHY of network {network.name}"
    if _frequency_mhz(scene, node.label) is None:
        return "the transmitter's radio channel is not one of its PHY"
    [(x_m, y_m, z_m)] = node_points(scene, node).tolist()
    return x_m, y_m, z_m


def _why_left_out(scene: Scene, sender: str | Point, reading: Reading) -> str:
    if isinstance(sender, str):
        return sender
    if math.dist(sender, _point(scene, reading)) < NEAREST_DISTANCE_M:
        return f"nearer than {NEAREST_DISTANCE_M:g} m, where the model does not hold"
    if reading.received_dbm is None and (reading.packet_error is None or reading.packet_error <= LOST_PACKET_ERROR):
        return "no received power was entered, and no loss of packets that would stand for it"
    return ""


def _is_lost(scene: Scene, reading: Reading) -> bool:
    sensitivity_dbm = scene.node_type(reading.receiver_type).sensitivity_dbm
    return reading.received_dbm is None or reading.received_dbm < sensitivity_dbm


def _frequency_mhz(scene: Scene, label: str) -> float | None:
    name = scene.node(label).network
    return None if name is None else centre_frequency_mhz(scene, scene.network(name))


def _point(scene: Scene, reading: Reading) -> Point:
    return *reading.position_m, scene.level(reading.level).elevation_m + reading.height_m


def reading_name(reading: Reading) -> str:
    """What people call a reading."""
    x, y = reading.position_m
    return f"{reading.transmitter} at ({x:g}, {y:g}) m on {reading.level}, {reading.taken_at}"


def moment_of(text: str) -> datetime | None:
    """A time as it stands in a Scene; None where the text is no time. Without an offset it counts as UTC."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


def latest_of(texts: Iterable[str]) -> str:
    """The latest of some times, as it stands; empty where none is a time."""
    moments = {moment: text for text in texts if (moment := moment_of(text)) is not None}
    return moments[max(moments)] if moments else ""
