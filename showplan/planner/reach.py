"""What would reach what: delivery from many places where a sender could stand to every node, for choosing among them.

The same sums as `links.py`, arranged for hundreds of fixed senders: a whole column of senders is worked out at once.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showplan.physics.link_budget import received_power_dbm
from showplan.planner.ends import End, end_of, mean_body_loss_db, mismatch_db
from showplan.planner.obstacles import HouseState
from showplan.planner.pairs import WORST_SHARE, closing_probability
from showplan.planner.positions import positions
from showplan.planner.propagation import Propagation
from showplan.planner.reception import Surroundings, surroundings_of
from showplan.planner.scene import Node, Scene

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Reach:
    """Links (senders, receivers): margin in dB above need and fade margin, and delivery, 0 to 1."""

    margin_db: Floats
    delivery: Floats


def reach(
    scene: Scene,
    phy: str,
    frequency_mhz: float,
    state: HouseState,
    senders: Sequence[Node],
    receivers: Sequence[Node],
    *,
    both_ways: bool = False,
) -> Reach:
    """Links from `senders`, each at a fixed point, to `receivers`; with `both_ways` the worse direction of each.

    A receiver that moves is judged over its zone, as in `network_links`.
    """
    around = surroundings_of(scene, phy, frequency_mhz, state)
    propagation = Propagation(scene, frequency_mhz, state)
    from_m = positions(scene, senders).points_m if senders else np.empty((0, 3))
    places = positions(scene, receivers)
    shape = (len(senders), len(receivers))
    found = Reach(np.full(shape, -np.inf), np.zeros(shape))
    if not senders or not receivers:
        return found
    loss_db = propagation.path_loss_db(from_m, places.points_m)
    rows_of = _by_sort(senders)
    done: dict[object, int] = {}
    for column, node in enumerate(receivers):
        sort = (node.node_type, node.is_worn, node.placement)
        if sort in done:
            found.margin_db[:, column] = found.margin_db[:, done[sort]]
            found.delivery[:, column] = found.delivery[:, done[sort]]
            continue
        done[sort] = column
        spots = places.spans[column]
        for rows in rows_of:
            ends = end_of(scene, senders[rows[0]]), end_of(scene, node)
            ray = places.points_m[None, spots] - from_m[rows, None]
            through_db = _through_db(*ends, ray, loss_db[rows, spots], around)
            for one, other in (ends, ends[::-1]) if both_ways else (ends,):
                margin_db, delivery = _judged(one, other, through_db, around, scene.venue.fade_margin_db)
                _keep_worse(found, rows, column, margin_db, delivery)
    return found


def _by_sort(senders: Sequence[Node]) -> list[NDArray[np.intp]]:
    """Indices of the senders that are ends alike: one node type, worn alike, aimed alike."""
    sorts: dict[object, list[int]] = {}
    for index, node in enumerate(senders):
        place = node.placement
        if place is None or place.position_m is None:
            raise ValueError(f"{node.label!r} has no fixed point to send from")
        sorts.setdefault((node.node_type, node.is_worn, place.aim_deg, place.tilt_deg), []).append(index)
    return [np.array(indices) for indices in sorts.values()]


def _through_db(one: End, other: End, ray_m: Floats, loss_db: Floats, around: Surroundings) -> Floats:
    """What reaches the other end of each 0 dBm sent, (senders, spots); the same in both directions."""
    length_m = np.maximum(np.linalg.norm(ray_m, axis=-1), 1e-9)
    direction = ray_m / length_m[..., None]
    lost_db = mean_body_loss_db(one, other, around.frequency_mhz) + mismatch_db(one, other)
    pattern_db = one.pattern_db(direction) + other.pattern_db(-direction)
    received = received_power_dbm(0.0, one.gain_db, other.gain_db, loss_db, lost_db)
    return np.asarray(received + pattern_db)


def _judged(
    sender: End, receiver: End, through_db: Floats, around: Surroundings, fade_margin_db: float
) -> tuple[Floats, Floats]:
    """Margin at the spot that WORST_SHARE of all fall short of, and mean delivery, per sender."""
    margin_db = sender.node_type.transmit_power_dbm + through_db - around.needed_dbm(receiver.node_type)
    body_db = mean_body_loss_db(sender, receiver, around.frequency_mhz)
    rank = int(WORST_SHARE * margin_db.shape[1])
    worst_db = np.partition(margin_db, rank, axis=1)[:, rank]
    delivery = closing_probability(sender, receiver, around, margin_db + body_db).mean(axis=1)
    return worst_db - fade_margin_db, delivery


def _keep_worse(found: Reach, rows: NDArray[np.intp], column: int, margin_db: Floats, delivery: Floats) -> None:
    is_first = np.isneginf(found.margin_db[rows, column])
    found.margin_db[rows, column] = np.where(is_first, margin_db, np.minimum(found.margin_db[rows, column], margin_db))
    found.delivery[rows, column] = np.where(is_first, delivery, np.minimum(found.delivery[rows, column], delivery))
