"""A plan that takes over what did not change equals one from nothing, whatever was edited in between."""

import random
from collections.abc import Callable
from typing import Any

import pytest

from showplan.planner import pairs
from showplan.records.base import Record
from showplan.records.models import Level, Node, NodeType, Placement, User, Venue, Wall, Zone
from showplan.services.computing import plan_parts, scene_document
from showplan.services.editing import edit
from showplan.services.history import undo_revision
from showplan.services.rights import Caller
from tests.nothing_kept import nothing_kept
from tests.tours import a_tour, by

pytestmark = pytest.mark.django_db
STEPS = 24


class Crew:
    """Somebody who edits the tour at random, and somebody who undoes it."""

    def __init__(self, venue: Venue, owner: User, seed: int) -> None:
        self.venue, self.owner, self.random = venue, owner, random.Random(seed)

    def one(self, model: type[Record]) -> Any:
        return self.random.choice(list(model.objects.order_by("pk")))

    def update(self, record: Record, **values: Any) -> None:
        with edit(self.venue.project, by(self.owner)) as change:
            change.update(record, values)

    def number(self, low: float, high: float) -> float:
        return round(self.random.uniform(low, high), 1)

    def move_node(self) -> None:
        place = {"zone": None, "x_m": self.number(1, 39), "y_m": self.number(1, 19)}
        self.update(self.one(Placement), **place, height_m=self.number(0.5, 3))

    def send_into_zone(self) -> None:
        self.update(self.one(Placement), zone=Zone.objects.get(), x_m=None, y_m=None)

    def move_wall(self) -> None:
        self.update(self.one(Wall), start_x_m=self.number(1, 39), height_m=self.number(1, 5))

    def other_material(self) -> None:
        self.update(self.one(Wall), material=self.random.choice(["brick-200", "plasterboard-26", "concrete-200"]))

    def new_wall(self) -> None:
        wall = Wall(level=Level.objects.get(), label=f"New {self.random.random()}", material="brick-200", height_m=2.0)
        wall.start_x_m, wall.start_y_m = self.number(1, 19), self.number(1, 9)
        wall.end_x_m, wall.end_y_m = self.number(20, 39), self.number(10, 19)
        with edit(self.venue.project, by(self.owner)) as change:
            change.create([wall])

    def stretch_zone(self) -> None:
        x_m = self.number(4, 20)
        self.update(Zone.objects.get(), corners_m=[[2, 2], [x_m, 2], [x_m, 8], [2, 8]])

    def other_order(self) -> None:
        self.update(self.one(Node), label=f"{self.random.choice('AMZ')}{self.random.random()}")

    def wear(self) -> None:
        node = self.one(Node)
        self.update(node, is_worn=not node.is_worn)

    def other_power(self) -> None:
        self.update(NodeType.objects.get(), transmit_power_dbm=self.number(-20, 10))

    def other_venue(self) -> None:
        self.update(Venue.objects.get(), path_loss_exponent=self.number(2, 4), fade_margin_db=self.number(5, 20))

    def other_floor(self) -> None:
        self.update(Level.objects.get(), elevation_m=self.number(-5, 5))

    def undo(self) -> None:
        project = type(self.venue.project).objects.get(pk=self.venue.project_id)
        undo_revision(Caller(self.owner), project, project.revision)

    def edits(self) -> list[Callable[[], None]]:
        """Moves most often, and an undo often."""
        rare = [self.new_wall, self.stretch_zone, self.other_order, self.wear, self.other_power]
        return [
            *[self.move_node] * 8,
            *[self.undo] * 4,
            *[self.move_wall, self.other_material, self.send_into_zone] * 2,
            *rare,
            self.other_venue,
            self.other_floor,
        ]


@pytest.mark.parametrize("most_pairs", [pairs.PAIRS_KEPT, 6])
@pytest.mark.parametrize("seed", range(2))
def test_equals_a_plan_from_nothing_after_any_edit(
    owner: User, seed: int, most_pairs: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pairs, "PAIRS_KEPT", most_pairs)
    crew = Crew(a_tour(owner, receivers=5), owner, seed)
    Node.objects.filter(label="N2").update(role="relay")
    for _ in range(STEPS):
        made = crew.random.choice(crew.edits())
        made()
        venue = Venue.objects.select_related("project").get(pk=crew.venue.pk)
        kept = scene_document(venue), plan_parts(venue)
        with nothing_kept():
            anew = scene_document(venue), plan_parts(venue)
        assert kept == anew, f"after {made.__name__}"


def test_only_the_pairs_of_the_moved_node_are_worked_out_again(owner: User, monkeypatch: pytest.MonkeyPatch) -> None:
    venue = a_tour(owner, receivers=5)
    plan_parts(venue)
    worked_out: list[int] = []
    pair = pairs._pair
    monkeypatch.setattr(pairs, "_pair", lambda *given: worked_out.append(1) or pair(*given))
    with edit(venue.project, by(owner)) as change:
        change.update(Placement.objects.get(node__label="N4"), {"x_m": 17.0})
    plan_parts(venue)
    assert len(worked_out) == 2, "one with the gateway, one with the relay"
