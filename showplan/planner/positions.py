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
    """Points of several nodes in one array: `points_m (k, 3)`; node i owns rows `starts[i]` to `starts[i + 1]`."""

    points_m: Floats
    starts: NDArray[np.int64]

    def span(self, index: int) -> slice:
        """Which rows are a node's."""
        return slice(int(self.starts[index]), int(self.starts[index + 1]))

    def of(self, index: int) -> Floats:
        """Points (k, 3) of one node."""
        return self.points_m[self.span(index)]


def positions(scene: Scene, nodes: Sequence[Node]) -> Positions:
    """Points of `nodes`, in their order; each must be placed. z is the level's elevation plus the height."""
    points = [node_points(scene, node) for node in nodes]
    starts = np.cumsum([0, *map(len, points)])
    return Positions(np.concatenate(points) if points else np.empty((0, 3)), starts)


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
