"""Where the demo's crew walked with a receiver, and when: the first two venues, on the day of load-in."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from random import Random

from showplan.records.models import Node, Reading
from showplan.services.demo import backbone, meadow, playhouse
from showplan.services.demo.drawing import Point, VenueDrawing
from showplan.services.demo.walk_test import readings_along
from showplan.services.scenes import build_scene


@dataclass(frozen=True)
class _Walk:
    venue: str
    level: str
    transmitter: str
    began_at: datetime
    by: str
    path_m: tuple[Point, ...]


_WALKS = (
    _Walk(
        playhouse.NAME,
        "Stalls",
        backbone.GATEWAY,
        datetime(2026, 8, 24, 21, 10, tzinfo=UTC),
        "demo-costume",
        (
            *((12, 6), (12, 10), (12, 14), (12, 18), (7, 21.5), (12, 22), (17, 21.5), (7, 25), (12, 25), (17, 25)),
            *((8, 27.5), (16, 27.5), (2.5, 24), (2.5, 29), (21.5, 24), (21.5, 29), (6, 2), (18, 2)),
        ),
    ),
    _Walk(
        playhouse.NAME,
        "Stalls",
        backbone.RELAYS[1],
        datetime(2026, 8, 24, 22, 5, tzinfo=UTC),
        "demo-costume",
        ((25.5, 15), (28, 15), (25.5, 20), (28, 21), (25.5, 26), (28, 31)),
    ),
    _Walk(
        meadow.NAME,
        "Lawn",
        backbone.GATEWAY,
        datetime(2026, 9, 7, 17, 40, tzinfo=UTC),
        "demo-scenic",
        (
            *((65, 40), (55, 46), (75, 46), (50, 55), (65, 55), (84, 55), (58, 64), (72, 64), (60, 72), (70, 72)),
            *((30, 28), (38, 22), (24, 18), (12, 12), (10, 60), (20, 70), (30, 58), (88, 82)),
        ),
    ),
)


def walk_tests(drawings: Sequence[VenueDrawing], nodes: Mapping[str, Node], chance: Random) -> list[Reading]:
    """All readings, not yet written. The venues must be: the forecast is made from their Scenes."""
    by_name = {drawing.venue.name: drawing for drawing in drawings}
    scenes = {name: build_scene(by_name[name].venue) for name in dict.fromkeys(walk.venue for walk in _WALKS)}
    return [
        reading
        for walk in _WALKS
        for reading in readings_along(
            scenes[walk.venue],
            by_name[walk.venue].levels[walk.level],
            nodes[walk.transmitter],
            walk.path_m,
            began_at=walk.began_at,
            by=walk.by,
            chance=chance,
        )
    ]
