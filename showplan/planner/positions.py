"""Where placed nodes are: one point for a fixed node, a set of points for one that moves in a zone."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showplan.geometry.sampling import points_in_polygon
from showplan.planner.scene import Node, Scene

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Positions:
    """Points of several nodes in one array: `points_m (k, 3)`; `spans[i]` are the rows of node i.

    Nodes that share a place (all that move in one zone at one height) share its rows.
    """

    points_m: Floats
    spans: tuple[slice, ...]

    def of(self, index: int) -> Floats:
        """Points (k, 3) of one node."""
        return self.points_m[self.spans[index]]


def positions(scene: Scene, nodes: Sequence[Node]) -> Positions:
    """Points of `nodes`, in their order; each must be placed. z is the level's elevation plus the height."""
    spans: dict[object, slice] = {}
    points: list[Floats] = []
    start = 0
    for node in nodes:
        key = _place_key(node)
        if key not in spans:
            points.append(node_points(scene, node))
            spans[key] = slice(start, start := start + len(points[-1]))
    return Positions(
        np.concatenate(points) if points else np.empty((0, 3)), tuple(spans[_place_key(node)] for node in nodes)
    )


def _place_key(node: Node) -> object:
    place = node.placement
    return place and (place.level, place.zone, place.position_m, place.height_m)


def node_points(scene: Scene, node: Node) -> Floats:
    """Points (k, 3) of one placed node in metres."""
    place = node.placement
    if place is None:
        raise ValueError(f"node {node.label!r} has no placement in this venue")
    level = scene.level(place.level)
    if place.position_m is not None:
        plan = np.array([place.position_m], dtype=np.float64)
    else:
        assert place.zone is not None  # a checked Scene has a point or a zone
        plan = points_in_polygon(scene.zone(place.zone, place.level).corners_m)
    return np.column_stack([plan, np.full(len(plan), level.elevation_m + place.height_m)])
