"""Own PHYs, traffic settings and feeds as records: what is refused, and how they come into the Scene."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from showplan import reference
from showplan.planner import scene_traffic
from showplan.planner.scene_file import fingerprint, read, write
from showplan.records.models import Feed, Network, NodeType, OwnPhy, Project, Traffic, User, Venue
from showplan.services.editing import edit
from showplan.services.errors import InvalidDocument, InvalidInput, RuleBroken, StillInUse
from showplan.services.exchange import as_text, import_project, parse, project_document
from showplan.services.history import undo_revision
from showplan.services.nouns import by_path
from showplan.services.planning import plan_venue
from showplan.services.record_writing import Update, create_record, delete_record, update_record, write_records
from showplan.services.rights import Caller
from showplan.services.scenes import build_scene
from tests.tours import a_project, a_tour, a_user, by

pytestmark = pytest.mark.django_db
NETWORKS, OWN_PHYS = by_path()["networks"], by_path()["own-phys"]
TRAFFICS, FEEDS = by_path()["traffic-settings"], by_path()["feeds"]
# Invented: a slow radio in the band that the table's oqpsk-868 uses too.
WORKSHOP: dict[str, Any] = {
    "key": "workshop-868",
    "band_low_mhz": 868.0,
    "band_high_mhz": 868.6,
    "first_centre_mhz": 868.2,
    "last_channel": 1,
    "spacing_mhz": 0.2,
    "bandwidth_mhz": 0.2,
    "bit_rate_kbps": 100.0,
    "sensitivity_dbm": -102.0,
}


@pytest.fixture
def owner() -> User:
    return a_user()


@pytest.fixture
def caller(owner: User) -> Caller:
    return Caller(owner)


@pytest.fixture
def venue(owner: User) -> Venue:
    return a_tour(owner)


def own_phy(caller: Caller, project: Project, **values: Any) -> OwnPhy:
    made = create_record(caller, OWN_PHYS, project, {**WORKSHOP, **values})
    assert isinstance(made, OwnPhy)
    return made


def refused(write: Any) -> dict[str, str]:
    """Fields and what is said of them."""
    with pytest.raises(InvalidInput) as caught:
        write()
    return {fault.field: fault.message for fault in caught.value.faults}


def a_network(name: str = "Slow", phy: str = "workshop-868", number: int = 90) -> dict[str, Any]:
    return {"name": name, "phy": phy, "radio_channel": 1, "pan_id": number}


def on_own_phy(caller: Caller, venue: Venue) -> OwnPhy:
    """The tour's network and node type on a PHY of the crew's own."""
    phy = own_phy(caller, venue.project)
    with edit(venue.project, caller.actor()) as change:
        change.update(venue.project.networks.get(), {"phy": phy.key, "radio_channel": 1})
        change.update(venue.project.node_types.get(), {"phy": phy.key})
    return phy


def test_a_network_and_a_node_type_take_an_own_phy_and_plan_with_it(caller: Caller, venue: Venue) -> None:
    on_own_phy(caller, venue)
    planned = plan_venue(venue)
    [network] = planned.scene.networks
    assert (network.phy, planned.scene.own_phy("workshop-868").bit_rate_kbps) == ("workshop-868", 100.0)
    links = next(iter(planned.plan.analyses.values())).links["Show"]
    assert len(links.labels) == venue.project.nodes.count()


def test_a_key_that_nobody_has_is_refused_with_those_there_are(caller: Caller, venue: Venue) -> None:
    own_phy(caller, venue.project)
    told = refused(lambda: create_record(caller, NETWORKS, venue.project, a_network(phy="workshop-869")))
    assert "did you mean 'workshop-868'" in told["phy"]
    assert "oqpsk-2450" in told["phy"]
    network = venue.project.networks.get()
    told = refused(lambda: update_record(caller, NETWORKS, venue.project, Update(network.pk, {"phy": "none"})))
    assert "neither in the table of phys nor an own PHY" in told["phy"]
    assert Network.objects.get(pk=network.pk).phy == "oqpsk-2450"


def test_the_own_phy_of_another_project_is_none_of_ours(caller: Caller, venue: Venue, owner: User) -> None:
    own_phy(caller, a_project(owner, "Another show"))
    assert list(refused(lambda: create_record(caller, NETWORKS, venue.project, a_network()))) == ["phy"]


def test_each_row_of_a_bulk_write_with_an_unknown_key_is_named(caller: Caller, venue: Venue) -> None:
    own_phy(caller, venue.project)
    rows = [a_network("A"), a_network("B", "nowhere", 91), a_network("C", "oqpsk-868", 92), a_network("D", "no", 93)]
    with pytest.raises(InvalidInput) as caught:
        write_records(caller, NETWORKS, venue.project, create=rows)
    assert [(fault.row, fault.field) for fault in caught.value.faults] == [(1, "phy"), (3, "phy")]


def test_a_bulk_write_asks_for_own_phys_once(caller: Caller, venue: Venue) -> None:
    own_phy(caller, venue.project)
    counts = []
    for first, last in ((0, 5), (100, 140)):
        rows = [a_network(f"N{i}", number=1000 + i) for i in range(first, last)]
        with CaptureQueriesContext(connection) as captured:
            write_records(caller, NETWORKS, venue.project, create=rows)
        counts.append(sum("records_ownphy" in query["sql"] for query in captured))
    assert counts == [1, 1]


def test_an_own_phy_in_use_stays_and_keeps_its_key(caller: Caller, venue: Venue) -> None:
    phy = on_own_phy(caller, venue)
    with pytest.raises(StillInUse, match="still used by network Show, node type Pocket"):
        delete_record(caller, OWN_PHYS, venue.project, phy.pk, None)
    told = refused(lambda: update_record(caller, OWN_PHYS, venue.project, Update(phy.pk, {"key": "other"})))
    assert "is still used by" in told["key"]
    assert "network Show" in told["key"]
    phy.refresh_from_db()
    assert (phy.key, phy.version) == ("workshop-868", 1)
    update_record(caller, OWN_PHYS, venue.project, Update(phy.pk, {"bit_rate_kbps": 50.0}))


def test_an_own_phy_that_nobody_uses_may_go_and_be_called_otherwise(caller: Caller, venue: Venue) -> None:
    phy = own_phy(caller, venue.project)
    update_record(caller, OWN_PHYS, venue.project, Update(phy.pk, {"key": "other"}))
    delete_record(caller, OWN_PHYS, venue.project, phy.pk, None)
    assert not OwnPhy.objects.exists()


def test_a_project_goes_with_its_own_phys(caller: Caller, venue: Venue) -> None:
    on_own_phy(caller, venue)
    venue.project.delete()
    assert not OwnPhy.objects.exists()


def _slow_network(caller: Caller, project: Project) -> tuple[Network, OwnPhy]:
    """A network on an own PHY, with traffic settings and a feed."""
    phy = own_phy(caller, project)
    with edit(project, caller.actor()) as change:
        [network] = change.create([Network(project=project, **a_network())])
        change.create([Traffic(project=project, network=network)])
        change.create([Feed(project=project, network=network)])
    return network, phy


def test_undo_brings_an_own_phy_back_before_what_uses_it(caller: Caller, venue: Venue) -> None:
    project = venue.project
    network, phy = _slow_network(caller, project)
    with edit(project, caller.actor()) as change:
        change.delete(network)
        change.delete(phy)
    assert not Traffic.objects.exists()
    undo_revision(caller, project, project.revision)
    assert Network.objects.get(pk=network.pk).phy == OwnPhy.objects.get(pk=phy.pk).key
    assert Traffic.objects.get(network=network).refresh_hz == 25.0
    assert Feed.objects.filter(network=network).count() == 1


def test_undo_brings_nothing_back_whose_own_phy_is_gone(caller: Caller, venue: Venue) -> None:
    project = venue.project
    network, phy = _slow_network(caller, project)
    delete_record(caller, NETWORKS, project, network.pk, None)
    network_gone = project.revision
    delete_record(caller, OWN_PHYS, project, phy.pk, None)
    phy_gone = project.revision
    with pytest.raises(RuleBroken, match="neither in the table of phys nor an own PHY"):
        undo_revision(caller, project, network_gone)
    undo_revision(caller, project, phy_gone)
    undo_revision(caller, project, network_gone)
    assert project.networks.get(pk=network.pk).phy == phy.key


def test_undo_takes_no_own_phy_away_that_is_used_since(caller: Caller, venue: Venue) -> None:
    project = venue.project
    own_phy(caller, project)
    made = project.revision
    create_record(caller, NETWORKS, project, a_network())
    with pytest.raises(StillInUse, match="network Slow"):
        undo_revision(caller, project, made)
    assert OwnPhy.objects.count() == 1


@pytest.mark.parametrize(
    ("values", "field", "says"),
    [
        ({"key": "oqpsk-2450"}, "key", "is in the table of phys already"),
        ({"key": ""}, "key", "blank"),
        ({"key": "x" * 41}, "key", "40"),
        ({"band_high_mhz": 868.0}, "band_high_mhz", "above the lower edge of the band, 868 MHz"),
        ({"first_channel": 2}, "last_channel", "at least the first radio channel, 2"),
        ({"first_centre_mhz": 868.05}, "first_centre_mhz", "starts at 867.95 MHz, out of the band"),
        ({"last_channel": 2, "spacing_mhz": 0.3}, "last_channel", "ends at 868.9 MHz, out of the band"),
        ({"bit_rate_kbps": 0.0}, "bit_rate_kbps", "must be from"),
        ({"longest_frame_octets": 19}, "longest_frame_octets", "from 20 to 4095"),
        ({"sensitivity_dbm": float("nan")}, "sensitivity_dbm", "must be from"),
    ],
)
def test_an_own_phy_that_cannot_be_is_refused(
    caller: Caller, venue: Venue, values: dict[str, Any], field: str, says: str
) -> None:
    told = refused(lambda: own_phy(caller, venue.project, **values))
    assert says in told[field]


def test_a_key_stands_once_in_a_project(caller: Caller, venue: Venue, owner: User) -> None:
    own_phy(caller, venue.project)
    assert "already there" in refused(lambda: own_phy(caller, venue.project))["key"]
    own_phy(caller, a_project(owner, "Another show"))


@pytest.mark.parametrize(
    ("values", "field", "says"),
    [
        # IEEE 802.15.4: a broadcast frame asks for no acknowledgement (from memory).
        ({"acknowledged": True}, "acknowledged", "address each node"),
        ({"acknowledged": True, "addressing": "groups"}, "acknowledged", "address each node"),
        ({"acknowledged": True, "addressing": "each"}, "acknowledged", "relay them by route"),
        ({"min_be": 6}, "max_be", "at least min_be, 6"),
        ({"coding": "thin"}, "coding", "not a valid choice"),
        ({"changed_share": 0.0}, "changed_share", "must be from"),
    ],
)
def test_traffic_that_contradicts_itself_is_refused(
    caller: Caller, venue: Venue, values: dict[str, Any], field: str, says: str
) -> None:
    network = venue.project.networks.get()
    told = refused(lambda: create_record(caller, TRAFFICS, venue.project, {"network": network, **values}))
    assert says in told[field]
    assert not Traffic.objects.exists()


@pytest.mark.parametrize("noun", [TRAFFICS, FEEDS], ids=["traffic-settings", "feeds"])
def test_a_network_has_one_of_each(caller: Caller, venue: Venue, noun: Any) -> None:
    network = venue.project.networks.get()
    create_record(caller, noun, venue.project, {"network": network})
    told = refused(lambda: create_record(caller, noun, venue.project, {"network": network}))
    assert "already: Show" in told["network"]


def _full(caller: Caller, venue: Venue) -> dict[str, Any]:
    """Every field of the new parts with a value that is not its default; by the part's name."""
    project = venue.project
    on_own_phy(caller, venue)
    network = project.networks.get()
    traffic = {
        "refresh_hz": 12.5, "header_octets": 3, "coding": "changes", "changed_share": 0.25, "keep_alive_s": 2.5,
        "addressing": "each", "groups": 5, "acknowledged": True, "retries": 2, "copies": 2, "relaying": "routed",
        "jitter_ms": 7.5, "addresses": "extended", "security": "mic-64", "min_be": 2, "max_be": 4,
        "max_backoffs": 3, "node_buffer_octets": 512,
    }  # fmt: skip
    feed = {
        "kind": "e1.31", "slots": 96, "rate_hz": 30.5, "baud": 115_200, "data_bits": 9, "parity": "even",
        "stop_bits": 2, "frame_octets": 7, "escaping": True, "clock_error_percent": -2.1, "hold_back_ms": 16.5,
        "buffer_octets": 64,
    }  # fmt: skip
    create_record(caller, TRAFFICS, project, {"network": network, **traffic})
    create_record(caller, FEEDS, project, {"network": network, **feed})
    worn = project.nodes.get(label="N3")
    with edit(project, caller.actor()) as change:
        change.update(worn, {"on_signal_loss": "switch-off", "signal_lost_after_s": 0.5})
    return {"traffic": traffic, "feed": feed}


def test_the_scene_says_every_field(caller: Caller, venue: Venue) -> None:
    given = _full(caller, venue)
    scene = build_scene(venue)
    assert scene.traffics == (scene_traffic.Traffic(network="Show", **given["traffic"]),)
    assert scene.feeds == (scene_traffic.Feed(network="Show", **given["feed"]),)
    assert scene.own_phys == (scene_traffic.OwnPhy(**WORKSHOP),)
    assert (scene.node("N3").on_signal_loss, scene.node("N3").signal_lost_after_s) == ("switch-off", 0.5)
    assert (scene.node("N2").on_signal_loss, scene.node("N2").signal_lost_after_s) == ("hold", 1.0)


def test_defaults_of_the_records_are_those_of_the_scene(caller: Caller, venue: Venue) -> None:
    network = venue.project.networks.get()
    create_record(caller, TRAFFICS, venue.project, {"network": network})
    create_record(caller, FEEDS, venue.project, {"network": network})
    scene = build_scene(venue)
    assert scene.traffics == (scene_traffic.Traffic(network="Show"),)
    assert scene.feeds == (scene_traffic.Feed(network="Show"),)


def test_scene_and_document_come_back_the_same(caller: Caller, venue: Venue) -> None:
    _full(caller, venue)
    scene = build_scene(venue)
    assert fingerprint(read(write(scene))) == fingerprint(scene)
    text = as_text(project_document(venue.project))
    copy = import_project(caller, parse(text))
    assert as_text(project_document(copy)) == text
    assert fingerprint(build_scene(copy.venues.get())) == fingerprint(scene)


def test_faults_elsewhere_in_a_document_do_not_hide_its_own_phys(caller: Caller, venue: Venue) -> None:
    """A fault before them keeps them from being written; what names them is not at fault for that."""
    _full(caller, venue)
    document = project_document(venue.project)
    document["own_phys"][0]["last_channel"] = 40
    document["node_types"][0]["phy"] = "workshop-869"
    with pytest.raises(InvalidDocument) as caught:
        import_project(caller, document)
    assert [fault.pointer for fault in caught.value.faults] == ["/own_phys/0/last_channel", "/node_types/0/phy"]


def test_the_scene_costs_as_many_queries_with_many_networks(caller: Caller, venue: Venue, owner: User) -> None:
    project, counts = venue.project, []
    for batch in range(2):
        with edit(project, by(owner)) as change:
            change.create([OwnPhy(project=project, **{**WORKSHOP, "key": f"own {batch} {i}"}) for i in range(5)])
            found = change.create(
                [Network(project=project, **a_network(f"{batch} {i}", f"own {batch} {i}")) for i in range(5)]
            )
            change.create([Traffic(project=project, network=network) for network in found])
            change.create([Feed(project=project, network=network) for network in found])
        fresh = Venue.objects.select_related("project").get(pk=venue.pk)
        with CaptureQueriesContext(connection) as captured:
            build_scene(fresh)
        counts.append(len(captured))
    assert counts[0] == counts[1]


def test_every_key_of_the_table_is_taken_without_a_question(caller: Caller, venue: Venue) -> None:
    rows = [NodeType(project=venue.project, name=key, phy=key, transmit_power_dbm=0.0, sensitivity_dbm=-90.0)
            for key in reference.phys()]  # fmt: skip
    with CaptureQueriesContext(connection) as captured, edit(venue.project, caller.actor()) as change:
        change.create(rows)
    assert not [query["sql"] for query in captured if "records_ownphy" in query["sql"]]
