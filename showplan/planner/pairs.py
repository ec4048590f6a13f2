"""The links between two placed nodes, both ways, kept for as long as nothing changes in what they go through.

What two nodes have between them depends on both ends, and on the venue with its walls, floors, crowd and other radio.
So it is kept under exactly these: after one node has moved only its own pairs are worked out again.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from showplan.physics.link_budget import received_power_dbm
from showplan.planner.ends import End, body_losses, end_of, mean_body_loss_db, mismatch_db
from showplan.planner.obstacles import HouseState
from showplan.planner.positions import positions
from showplan.planner.propagation import Propagation
from showplan.planner.reception import Surroundings, surroundings_of
from showplan.planner.scene import Node, Placement, Scene

Floats = NDArray[np.float64]
# The share of a zone that may be served worse than what a moving node is judged by.
WORST_SHARE = 0.05
VENUES_KEPT = 12  # networks and states of the house of the venues that people look at
PAIRS_KEPT = 10_000  # of each such venue, half a kilobyte a pair; or those of the last plan where they are more


class Pair(NamedTuple):
    """What a node `one` and another have between them; `there` is from `one` to the other, `back` the other way."""

    distance_m: float
    path_loss_db: float
    received_there_dbm: float
    received_back_dbm: float
    delivery_there: float
    delivery_back: float
    worst_delivery_there: float
    worst_delivery_back: float


@dataclass(frozen=True)
class Sort:
    """All of a placed node that its links depend on: nodes of one sort have the same links."""

    node_type: str
    is_worn: bool
    placement: Placement


class Pairs:
    """Pairs of nodes in one venue, on one frequency, in one state of the house."""

    def __init__(self, around: Scene, phy: str, frequency_mhz: float, state: HouseState) -> None:
        self.surroundings = surroundings_of(around, phy, frequency_mhz, state)
        self._around = around
        self._propagation = Propagation(around, frequency_mhz, state)
        self._count = itertools.count()  # a number never comes back, so none can stand for another sort later
        self._numbers: dict[Sort, int] = {}
        self._found: dict[tuple[int, int], Pair] = {}

    def between(self, nodes: Sequence[Node], wanted: Sequence[tuple[int, Sequence[int]]]) -> list[list[Pair]]:
        """For each of `wanted`, an index into `nodes` and those of its others, the pairs with these others."""
        sorts = [_sort(node) for node in nodes]
        numbers = [self._number(sort) for sort in sorts]
        places = _Places(self._around, nodes)
        used: dict[tuple[int, int], Pair] = {}
        for one, others in wanted:
            missing: dict[tuple[int, int], int] = {}
            for other in others:
                key = (numbers[one], numbers[other])
                pair = self._found.get(key)
                if pair is None:
                    missing.setdefault(key, other)
                else:
                    used[key] = pair
            if missing:
                used.update(zip(missing, self._pairs(places, one, list(missing.values())), strict=True))
        self._keep(used, dict(zip(sorts, numbers, strict=True)))
        return [[used[numbers[one], numbers[other]] for other in others] for one, others in wanted]

    def _number(self, sort: Sort) -> int:
        number = self._numbers.get(sort)
        if number is None:
            number = self._numbers[sort] = next(self._count)
        return number

    def _keep(self, used: dict[tuple[int, int], Pair], numbers: dict[Sort, int]) -> None:
        self._found.update(used)
        if len(self._found) > PAIRS_KEPT:
            self._found, self._numbers = used, numbers

    def _pairs(self, places: "_Places", one: int, others: Sequence[int]) -> list[Pair]:
        """Work out the pairs of node `one` with `others`."""
        from_m = places.points_m(one)
        points = positions(self._around, [places.nodes[other] for other in others])
        # All spots at once: the walls are gone through a single time.
        loss_db = self._propagation.path_loss_db(from_m, points.points_m)
        ray = points.points_m[None] - from_m[:, None]
        distance_m = np.linalg.norm(ray, axis=-1)
        direction = ray / np.maximum(distance_m, 1e-9)[..., None]
        pairs = []
        for other, span in zip(others, points.spans, strict=True):
            # Arrays of their own, so that no figure depends on which other pairs are worked out with this one.
            spots = [np.ascontiguousarray(array[:, span]) for array in (distance_m, loss_db, direction)]
            pairs.append(_pair(places.end(one), places.end(other), self.surroundings, *spots))
        return pairs


def pairs_of(scene: Scene, phy: str, frequency_mhz: float, state: HouseState) -> Pairs:
    """The pairs of nodes with this PHY in the venue as it is, with what is known of them already."""
    return _pairs_of(_around(scene), phy, frequency_mhz, state)


_pairs_of = lru_cache(maxsize=VENUES_KEPT)(Pairs)


def _around(scene: Scene) -> Scene:
    """The Scene without everything that has no part in what is between two given nodes."""
    return replace(
        scene,
        candidate_sites=(),
        networks=(),
        traffics=(),
        feeds=(),
        supplies=(),
        nodes=(),
        loads=(),
        show_parts=(),
        part_levels=(),
        timelines=(),
        readings=(),
    )


def _sort(node: Node) -> Sort:
    assert node.placement is not None  # members of a network here are placed
    return Sort(node.node_type, node.is_worn, node.placement)


class _Places:
    """Points and ends of nodes, made when they are asked for."""

    def __init__(self, scene: Scene, nodes: Sequence[Node]) -> None:
        self._scene, self.nodes = scene, nodes
        self._ends: dict[int, End] = {}

    def points_m(self, index: int) -> Floats:
        """Points (k, 3) of a node."""
        return positions(self._scene, [self.nodes[index]]).points_m

    def end(self, index: int) -> End:
        """The end that a node is."""
        if index not in self._ends:
            self._ends[index] = end_of(self._scene, self.nodes[index])
        return self._ends[index]


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


def _pair(
    one: End, other: End, surroundings: Surroundings, distance_m: Floats, loss_db: Floats, direction: Floats
) -> Pair:
    """Both directions between two nodes, over every pair of their spots: arrays (k, m), `direction` (k, m, 3)."""
    body_db = mean_body_loss_db(one, other, surroundings.frequency_mhz)
    other_losses_db = body_db + mismatch_db(one, other)
    pattern_db = one.pattern_db(direction) + other.pattern_db(-direction)
    # What reaches the other end of each 0 dBm sent; the same in both directions.
    through_db = received_power_dbm(0.0, one.gain_db, other.gain_db, loss_db, other_losses_db) + pattern_db
    spot = _worst_spot(through_db)
    received_dbm, means, worsts = [], [], []
    for sender, receiver in ((one, other), (other, one)):
        arriving_dbm = sender.node_type.transmit_power_dbm + through_db
        margin_db = arriving_dbm - surroundings.needed_dbm(receiver.node_type) + body_db
        chances = closing_probability(sender, receiver, surroundings, margin_db)
        received_dbm.append(float(arriving_dbm.flat[spot]))
        means.append(float(chances.mean()))
        worsts.append(float(chances.flat[spot]))
    return Pair(float(distance_m.flat[spot]), float(loss_db.flat[spot]), *received_dbm, *means, *worsts)


def _worst_spot(values: Floats) -> int:
    """Flat index of the value that WORST_SHARE of all fall short of."""
    rank = int(WORST_SHARE * values.size)
    return int(np.argpartition(values, rank, axis=None)[rank]) if values.size > 1 else 0
