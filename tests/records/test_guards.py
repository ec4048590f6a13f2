"""The database's own rules, met by writing past every service."""

from collections.abc import Callable

import pytest
from django.db import IntegrityError, connection, transaction

from showplan.records.guards import GUARDS, read_guard_message
from showplan.records.models import (
    CandidateSite,
    Feed,
    Level,
    Load,
    Network,
    Node,
    NodeType,
    OwnPhy,
    Placement,
    Traffic,
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


def _own_phy(venue: Venue) -> OwnPhy:
    channel = {"first_centre_mhz": 868.3, "bandwidth_mhz": 0.25, "bit_rate_kbps": 100.0, "sensitivity_dbm": -102.0}
    return OwnPhy.objects.create(
        project=venue.project, key="workshop-868", band_low_mhz=868.0, band_high_mhz=868.6, **channel
    )


def test_a_phy_is_of_the_table_or_the_projects_own(venue: Venue, owner: User) -> None:
    other = a_project(owner, "Another show")
    _own_phy(a_venue(other, owner))
    assert guard_that_refused(lambda: Network.objects.update(phy="workshop-868")) == "network_phy_known"
    assert guard_that_refused(lambda: NodeType.objects.update(phy="workshop-868")) == "nodetype_phy_known"
    phys = OwnPhy.objects.filter(pk=_own_phy(venue).pk)
    assert guard_that_refused(lambda: phys.update(key="oqpsk-2450")) == "ownphy_key_not_of_table"
    for model in (Network, NodeType):
        model.objects.update(phy="workshop-868")
        assert guard_that_refused(lambda: phys.update(key="other")) == "ownphy_keeps_key_in_use"
        model.objects.update(phy="oqpsk-2450")
    phys.update(key="other", bit_rate_kbps=50.0)


def test_traffic_and_feed_are_of_the_networks_project(venue: Venue, owner: User) -> None:
    other, network = a_project(owner, "Another show"), Network.objects.get(project=venue.project)
    for model in (Traffic, Feed):
        name = f"{model._meta.model_name}_network_same_project"
        assert guard_that_refused(lambda m=model: m.objects.create(project=other, network=network)) == name  # type: ignore[misc]
        model.objects.create(project=venue.project, network=network)
        refused(lambda m=model: m.objects.create(project=venue.project, network=network))  # type: ignore[misc]


@pytest.mark.parametrize(
    ("model", "change"),
    [
        (OwnPhy, {"band_low_mhz": 868.6}),
        (OwnPhy, {"first_channel": 1}),
        (OwnPhy, {"first_centre_mhz": 868.1}),
        (OwnPhy, {"last_channel": 1, "spacing_mhz": 0.3}),
        (Traffic, {"acknowledged": True}),
        (Traffic, {"acknowledged": True, "addressing": "each"}),
        (Traffic, {"acknowledged": True, "relaying": "none"}),
        (Traffic, {"max_be": 2}),
        (Traffic, {"security": "locked"}),
        (Traffic, {"changed_share": 0.0}),
        (Feed, {"kind": "post"}),
        (Feed, {"stop_bits": 3}),
        (Feed, {"clock_error_percent": 21.0}),
        (Node, {"on_signal_loss": "blink"}),
        (Node, {"signal_lost_after_s": 0.0}),
    ],
    ids=str,
)
def test_a_check_on_the_shows_data_refuses(venue: Venue, model: type, change: dict) -> None:
    network = Network.objects.get(project=venue.project)
    _own_phy(venue)
    Traffic.objects.create(project=venue.project, network=network)
    Feed.objects.create(project=venue.project, network=network)
    refused(lambda: model.objects.update(**change))


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
