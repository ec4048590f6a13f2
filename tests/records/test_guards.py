"""The database's own rules, met by writing past every service."""

from collections.abc import Callable

import pytest
from django.db import IntegrityError, connection, transaction

from showplan.records.guards import GUARDS, read_guard_message
from showplan.records.models import (
    CandidateSite,
    Level,
    Load,
    Node,
    NodeType,
    Placement,
    User,
    Venue,
    Wall,
)
from tests.tours import a_kit, a_project, a_tour, a_user, a_venue

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return a_user()


@pytest.fixture
def venue(owner: User) -> Venue:
    return a_tour(owner)


def refused(write: Callable[[], object]) -> IntegrityError:
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        write()
    return caught.value


def guard_that_refused(write: Callable[[], object]) -> str:
    found = read_guard_message(refused(write))
    assert found is not None
    return found[0]


def test_a_placement_stays_on_its_level(venue: Venue) -> None:
    placement = Placement.objects.filter(venue=venue)[:1]
    rows = Placement.objects.filter(pk__in=placement)
    assert guard_that_refused(lambda: rows.update(x_m=41.0)) == "placement_on_level"
    assert guard_that_refused(lambda: rows.update(y_m=-0.1)) == "placement_on_level"


def test_a_level_does_not_shrink_below_what_stands_on_it(venue: Venue) -> None:
    levels = Level.objects.filter(venue=venue)
    assert guard_that_refused(lambda: levels.update(width_m=5.0)).startswith("level_holds_")


def test_sites_and_walls_stay_on_their_level(venue: Venue) -> None:
    level = venue.levels.get()
    assert (
        guard_that_refused(
            lambda: CandidateSite.objects.create(level=level, label="S", x_m=50.0, y_m=1.0, height_m=1.0)
        )
        == "candidatesite_on_level"
    )
    assert guard_that_refused(lambda: Wall.objects.filter(level=level).update(end_y_m=21.0)) == "wall_on_level"


def test_levels_zones_and_kit_are_of_one_venue_and_project(venue: Venue, owner: User) -> None:
    project = a_project(owner, "Other")
    elsewhere = a_venue(project, owner)
    other_node = a_kit(project, owner, 1)[0]
    placement = Placement.objects.filter(venue=venue).first()
    assert placement is not None
    rows = Placement.objects.filter(pk=placement.pk)
    assert guard_that_refused(lambda: rows.update(level=elsewhere.levels.get())) == "placement_level_of_venue"
    assert guard_that_refused(lambda: rows.update(node=other_node)) == "placement_node_same_project"
    nodes = Node.objects.filter(pk=placement.node_id)
    assert guard_that_refused(lambda: nodes.update(network=other_node.network)) == "node_network_same_project"
    zone = elsewhere.levels.get().zones.get()
    assert guard_that_refused(lambda: rows.update(zone=zone, x_m=None, y_m=None)) == "placement_zone_of_level"


def test_an_output_must_exist(venue: Venue) -> None:
    loads = Load.objects.filter(output=2)
    assert guard_that_refused(lambda: loads.update(output=5)) == "load_output_exists"
    assert guard_that_refused(lambda: NodeType.objects.update(outputs=1)) == "nodetype_outputs_enough"


@pytest.mark.parametrize(
    ("model", "change"),
    [
        (Wall, {"height_m": 0.0}),
        (Wall, {"height_m": float("inf")}),
        (Wall, {"height_m": float("nan")}),
        (Wall, {"end_x_m": 15.0, "end_y_m": 0.0, "start_x_m": 15.0, "start_y_m": 0.0}),
        (Level, {"width_m": -1.0}),
        (Load, {"cable_length_m": 0.0}),
        (Load, {"rated_a": 1.0}),
        (Load, {"length_m": None}),
        (Node, {"role": "queen"}),
        (Node, {"short_address": None}),
        (Node, {"short_address": 70_000}),
        (Node, {"short_address": 3}),
        (Load, {"output": 1}),
        (Placement, {"x_m": None}),
    ],
    ids=str,
)
def test_a_check_or_unique_rule_refuses(venue: Venue, model: type, change: dict) -> None:
    refused(lambda: model.objects.update(**change))


def test_every_guard_is_in_the_database(db: None) -> None:
    query = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(query)
        names = {name for (name,) in cursor.fetchall()}
    for guard in GUARDS:
        suffixes = ("_insert", "_update") if connection.vendor == "sqlite" else ("",)
        assert {f"guard_{guard.name}{suffix}" for suffix in suffixes} <= names
