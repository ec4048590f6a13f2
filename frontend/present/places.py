"""Where a node is drawn. A node that moves has no point: those of one zone are spread over it, in order of label."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from showplan.geometry.sampling import points_in_polygon
from showplan.services.planning import PlannedVenue

LATTICE_POINTS_PER_NODE = 3


@dataclass(frozen=True)
class Place:
    """A point of the plan in metres, the level it is on, and the zone in which the node moves (else empty)."""

    x_m: float
    y_m: float
    level: str
    zone: str = ""

    @property
    def in_words(self) -> str:
        """The place as people say it."""
        where = f"anywhere in {self.zone}" if self.zone else f"x {self.x_m:g} m, y {self.y_m:g} m"
        return f"{self.level}, {where}"


def drawn_places(planned: PlannedVenue) -> dict[str, Place]:
    """Place of every placed node by label."""
    scene = planned.scene
    places: dict[str, Place] = {}
    moving: dict[tuple[str, str], list[str]] = defaultdict(list)
    for node in scene.placed_nodes():
        place = node.placement
        assert place is not None  # that is what placed means
        if place.position_m is not None:
            places[node.label] = Place(*place.position_m, place.level)
        elif place.zone is not None:
            moving[place.level, place.zone].append(node.label)
    for (level, zone), labels in moving.items():
        spots = spread(scene.zone(zone, level).corners_m, len(labels))
        for label, (x_m, y_m) in zip(sorted(labels), spots, strict=True):
            places[label] = Place(x_m, y_m, level, zone)
    return places


def spread(corners_m: Sequence[tuple[float, float]], count: int) -> list[tuple[float, float]]:
    """`count` points inside a polygon, evenly taken from a lattice over it."""
    most = max(12, LATTICE_POINTS_PER_NODE * count)
    inside = points_in_polygon(corners_m, most=most, finest_m=0.01)
    if len(inside) < count:  # smaller than the lattice
        middle = tuple(sum(corner[axis] for corner in corners_m) / len(corners_m) for axis in (0, 1))
        return [(middle[0], middle[1])] * count
    picks = [int((index + 0.5) * len(inside) / count) for index in range(count)]
    return [(float(inside[pick][0]), float(inside[pick][1])) for pick in picks]
