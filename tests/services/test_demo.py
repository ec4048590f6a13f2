"""The demo tour: what is in it, the story its findings tell, and that loading it is safe to repeat."""

import re
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from showplan import reference
from showplan.planner.links import centre_frequency_mhz
from showplan.records.models import Change, Load, Membership, Node, Project, Reading, User
from showplan.services.demo import load_demo
from showplan.services.demo.loading import DemoResult
from showplan.services.editing import Actor, create_project, edit
from showplan.services.planning import PlannedVenue, plan_project
from showplan.services.scenes import build_scene
from tests.kept import Made

pytestmark = pytest.mark.django_db

# Measured: 267 on SQLite, for some 650 records and their history.
MOST_QUERIES = 300
# The mistakes in the kit, for the power planner to find: a supply with little to spare, a lead that is too thin, an
# output without a fuse of its own, and a pack that 12 V tape does not suit.
SMALL_SUPPLY, THIN_LEAD = "Lighthouse lens", "Lighthouse tower ring 4"
NO_FUSE, SMALL_PACK = "Boat 4 mast lamp", "Gull 4 pack"


@pytest.fixture
def demo(kept_demo: Made) -> DemoResult:
    """The demo as it was loaded into an empty database."""
    return kept_demo["demo"]


@pytest.fixture
def project(demo: DemoResult) -> Project:
    return demo.project


@pytest.fixture
def planned(project: Project) -> list[PlannedVenue]:
    return plan_project(project)


def _fingerprints(project: Project) -> dict[str, str]:
    return {one.venue.name: one.plan.fingerprint for one in plan_project(project)}


def test_the_kit_has_the_size_of_a_real_tour(project):
    roles = [node.role for node in project.nodes.all()]
    assert (roles.count("gateway"), roles.count("relay"), roles.count("receiver")) == (2, 5, 46)
    assert project.nodes.filter(is_worn=True).count() == 26
    assert project.loads.count() >= 150
    assert {load.kind for load in project.loads.all()} == {"tape", "lamp", "fan"}
    assert project.node_types.count() == 5
    assert project.crews.count() == 2
    assert Reading.objects.filter(level__venue__project=project).count() >= 30


def test_every_node_has_a_supply_of_its_own_and_worn_ones_a_battery(project):
    nodes = list(project.nodes.select_related("supply"))
    assert len({node.supply_id for node in nodes}) == len(nodes)
    assert {node.supply.kind for node in nodes if node.is_worn} == {"battery"}


def test_no_slot_is_used_twice(project):
    slots = list(project.loads.values_list("slot", flat=True))
    assert None not in slots
    assert len(set(slots)) == len(slots)


def test_the_rated_current_stays_within_output_supply_and_cable(project):
    # Largest current of flexible leads, DC, 60 C cords: BS 7671 Table 4F3A, 3 / 6 / 16 A for 0.5 / 0.75 / 1.5 mm2.
    cable_limit_a = {0.5: 3.0, 0.75: 6.0, 1.5: 16.0}
    drawn_a: dict[Node, float] = {}
    for load in Load.objects.filter(project=project).select_related("node__node_type", "node__supply"):
        load_a = load.rated_a or load.rated_w / load.rated_v
        assert load_a <= load.node.node_type.output_limit_a, load.label
        assert load_a <= cable_limit_a[load.cable_area_mm2], load.label
        drawn_a[load.node] = drawn_a.get(load.node, 0.0) + load_a
    for node, total_a in drawn_a.items():
        # At most 80 % of a supply: headroom that sellers of tape publish.
        assert (total_a <= 0.8 * node.supply.current_limit_a) == (node.label != SMALL_SUPPLY), node.label


def test_fuses_suit_what_they_protect_but_for_the_mistakes(project):
    # Largest current of flexible leads, DC, 60 C cords: BS 7671 Table 4F3A. Bunching costs a third for four cables
    # (from memory, IEC 60364-5-52 Table B.52.17). A fuse link is worked at up to 75 % of its rating (makers' guides).
    cable_limit_a, bunching = {0.5: 3.0, 0.75: 6.0, 1.5: 16.0, 2.5: 25.0}, {1: 1.0, 4: 0.65}
    for load in project.loads.all():
        assert (load.fuse_a is None) == (load.label == NO_FUSE), load.label
        if load.fuse_a is not None:
            load_a = load.rated_a or load.rated_w / load.rated_v
            assert load_a <= 0.75 * load.fuse_a, load.label
            limit_a = cable_limit_a[load.cable_area_mm2] * bunching[load.cables_together]
            assert (load.fuse_a <= limit_a) == (load.label != THIN_LEAD), load.label
    for node in project.nodes.filter(loads__isnull=False).distinct():
        assert node.main_fuse_a <= cable_limit_a[node.trunk_area_mm2], node.label
    fed_straight = project.supplies.filter(kind="battery", converter_v__isnull=True, nodes__loads__isnull=False)
    assert {supply.label for supply in fed_straight} == {SMALL_PACK}


def test_the_show_day_has_a_matinee_and_an_evening(project):
    scene = build_scene(project.venues.first())
    parts = sorted(scene.show_parts, key=lambda part: part.position)
    assert [part.kind for part in parts].count("act") == 4
    [gap] = (part for part in parts if part.kind == "gap")
    assert (gap.minutes, gap.may_change_packs) == (120.0, True)
    assert len(scene.part_levels) == 4 * 8


def test_batteries_can_be_carried_without_approval(project):
    # Up to 100 Wh needs no approval of the airline: IATA passenger leaflet, 2018.
    for supply in project.supplies.filter(kind="battery"):
        assert supply.nominal_v * supply.capacity_ah <= 100.0, supply.label


def test_every_network_is_on_a_radio_channel_of_its_phy(project):
    scene = build_scene(project.venues.first())
    for network in scene.networks:
        frequency_mhz = centre_frequency_mhz(scene, network)
        assert frequency_mhz is not None
        phy = reference.phys()[network.phy]
        assert phy.band_low_mhz < frequency_mhz < phy.band_high_mhz


def test_every_network_says_how_it_sends_and_what_feeds_it(project):
    scene = build_scene(project.venues.first())
    assert {part.network for part in scene.traffics} == {part.network for part in scene.feeds} == {"Main", "Scenery"}
    assert (scene.traffic("Main").relaying, scene.traffic("Main").jitter_ms) == ("repeated", 15.0)
    feeds = {part.network: part for part in scene.feeds}
    assert (feeds["Main"].kind, feeds["Main"].baud, feeds["Scenery"].kind) == ("serial", 115_200, "e1.11")
    loads = Load.objects.filter(project=project).select_related("node__network")
    for network, feed in feeds.items():
        last_slot = max(load.slot for load in loads if load.node.network.name == network)
        assert last_slot <= feed.slots, network
    assert feeds["Main"].slots == max(load.slot for load in loads if load.node.network.name == "Main")


def test_worn_nodes_fade_out_and_the_rest_hold_when_the_signal_is_lost(project):
    nodes = project.nodes.values_list("is_worn", "on_signal_loss", "signal_lost_after_s")
    assert set(nodes) == {(True, "fade-out", 2.0), (False, "hold", 1.0)}


def test_the_tour_visits_three_regions_in_order(planned):
    assert [one.venue.region for one in planned] == ["us", "eu", "jp"]
    for one in planned:
        kinds = {day.kind for day in one.venue.tour_dates.all()}
        assert {"load-in", "show"} <= kinds
        assert one.scene.occupied_spectrum
        assert {site.has_mains for site in one.scene.candidate_sites} == {True, False}


def test_the_balcony_covers_part_of_the_stalls(planned):
    levels = {level.name: level for level in planned[0].scene.levels}
    stalls, balcony = levels["Stalls"], levels["Balcony"]
    assert 3.5 <= balcony.elevation_m <= 4.5
    assert balcony.width_m * balcony.depth_m < stalls.width_m * stalls.depth_m / 2


def test_every_venue_has_something_to_look_at_and_the_tour_little_to_fix(planned):
    for one in planned:
        assert any(finding.severity == "warn" for finding in one.plan.findings), one.venue.name
        assert sum(node.placement is None for node in one.scene.nodes) >= 3, one.venue.name
    stops = [finding for one in planned for finding in one.plan.findings if finding.severity == "stop"]
    by_place = [finding for finding in stops if finding.question != "power-lasts"]
    assert 1 <= len(by_place) <= 4, [finding.sentence for finding in by_place]
    # What is wrong with the kit is wrong in every venue.
    assert {finding.subject.name for finding in stops if finding.question == "power-lasts"} == {THIN_LEAD, NO_FUSE}


def test_the_power_planner_finds_the_mistakes_in_the_kit(planned):
    for one in planned:
        warned = {(finding.code, finding.subject.name) for finding in one.plan.findings if finding.severity == "warn"}
        assert ("supply-headroom-small", f"{SMALL_SUPPLY} supply") in warned
        assert any(code == "dark-before-empty" and name.startswith("Gull 4 ") for code, name in warned)


def test_the_findings_tell_the_story(planned):
    told = {one.venue.name: {(finding.code, finding.subject.name) for finding in one.plan.findings} for one in planned}
    assert {
        ("single-relay", "Relay B"),
        ("thin-margin", "Bellringer"),
        ("spectrum-shared", "Scenery with house cue light link"),
    } <= told["Tanpit Playhouse"]
    assert {
        ("band-not-listed", "Scenery"),
        ("single-relay", "Relay A"),
        ("spectrum-shared", "Main with food stall crew's camera link"),
    } <= told["Heron Field"]
    assert {
        ("node-not-heard", "Keeper's shadow"),
        ("single-relay", "Scenery relay"),
        ("spectrum-shared", "Main with house Wi-Fi, 40 MHz wide"),
        ("delivery-low", "Main"),
    } <= told["The Long Netloft"]


def test_a_reading_shows_power_only_above_the_sensitivity(project):
    readings = Reading.objects.filter(level__venue__project=project).select_related("receiver_type")
    assert {reading.received_dbm is None for reading in readings} == {True, False}
    for reading in readings:
        if reading.received_dbm is None:
            assert reading.packet_error == 1.0
        else:
            assert reading.received_dbm == round(reading.received_dbm)
            assert reading.received_dbm >= reading.receiver_type.sensitivity_dbm


def test_only_the_owner_can_sign_in(client, demo):
    assert demo.created
    assert client.login(username=demo.username, password=demo.password)
    roles = dict(Membership.objects.filter(project=demo.project).values_list("user__username", "role"))
    assert roles.pop("demo") == "owner"
    assert sorted(roles.values()) == ["editor", "editor", "viewer"]
    assert not any(User.objects.get(username=name).has_usable_password() for name in roles)
    crews = Membership.objects.filter(project=demo.project, role="editor").values_list("crew__name", flat=True)
    assert set(crews) == {"Costume electrics", "Scenic electrics"}


def test_a_second_load_changes_nothing(demo):
    changes = Change.objects.count()
    second = load_demo()
    assert (second.project, second.password, second.created) == (demo.project, None, False)
    assert second.project.revision == demo.project.revision
    assert Change.objects.count() == changes


def test_a_second_load_keeps_what_people_changed(project):
    node = project.nodes.get(label="Moth 01")
    with edit(project, Actor(None, "command")) as change:
        change.update(node, {"note": "wing mended"})
    load_demo()
    node.refresh_from_db()
    assert node.note == "wing mended"


def test_the_demo_is_the_same_each_time_it_is_made(project):
    before = _fingerprints(project)
    keys = set(Node.objects.values_list("pk", flat=True)) | set(Reading.objects.values_list("pk", flat=True))
    Project.objects.all().delete()
    User.objects.all().delete()
    assert _fingerprints(load_demo().project) == before
    assert keys == set(Node.objects.values_list("pk", flat=True)) | set(Reading.objects.values_list("pk", flat=True))


def test_making_it_again_leaves_the_owner_their_password(demo):
    Project.objects.all().delete()
    again = load_demo()
    assert (again.created, again.password) == (True, None)
    assert User.objects.get(username="demo").check_password(demo.password)


def test_everything_went_through_a_handful_of_edits(project):
    assert project.revision == Project.objects.get(pk=project.pk).revision <= 8
    changed = set(Change.objects.filter(project=project).values_list("record_id", flat=True))
    assert set(project.nodes.values_list("pk", flat=True)) <= changed
    assert set(project.loads.values_list("pk", flat=True)) <= changed


def test_loading_takes_a_bounded_number_of_queries():
    with CaptureQueriesContext(connection) as queries:
        load_demo()
    assert len(queries) <= MOST_QUERIES, "\n".join(query["sql"][:120] for query in queries)


def _demo(*arguments: str) -> str:
    out = StringIO()
    call_command("demo", *arguments, stdout=out)
    return out.getvalue()


def test_the_command_tells_the_password_once():
    first, second = _demo(), _demo()
    password = re.search(r"^Password: (\S+)$", first, re.MULTILINE)
    assert password is not None
    assert User.objects.get(username="demo").check_password(password[1])
    assert "was made" in first
    assert "already there" in second
    assert "Password: " not in second


def test_if_empty_leaves_a_database_with_projects_alone():
    owner = User.objects.create_user("lena")
    create_project(name="Our own show", owner=owner, actor=Actor(owner, "test"))
    assert "not added" in _demo("--if-empty")
    assert Project.objects.count() == 1


def test_if_empty_fills_an_empty_database():
    assert "was made" in _demo("--if-empty")
    assert Project.objects.count() == 1
