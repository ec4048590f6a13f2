"""Projects and venues as documents: round trips, strictness, all or nothing, constant queries."""

import json
from copy import deepcopy
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from showplan.planner.scene_file import fingerprint
from showplan.records.models import Change, Membership, Node, Project, Token, User, Venue
from showplan.services.demo import load_demo
from showplan.services.editing import edit
from showplan.services.errors import InvalidDocument, InvalidInput, NotAllowed, NotFound
from showplan.services.exchange import (
    as_text,
    import_project,
    import_venue,
    parse,
    project_document,
    sha256_of,
    venue_document,
)
from showplan.services.nouns import NOUNS, by_path
from showplan.services.rights import Caller
from showplan.services.scenes import build_scene
from tests.builders import show_tour
from tests.conftest import Tour
from tests.tours import a_kit, a_project, a_tour, by

pytestmark = pytest.mark.django_db
Document = dict[str, Any]


@pytest.fixture
def document(tour: Tour) -> Document:
    """The small tour, exported."""
    return project_document(tour.project)


@pytest.fixture
def caller(owner: User) -> Caller:
    return Caller(owner)


def faults_of(caller: Caller, document: Any) -> dict[str, str]:
    """The faults of an import by their pointers; fails where it is accepted or something stays behind."""
    before = Project.objects.count(), Change.objects.count()
    with pytest.raises(InvalidDocument) as caught:
        import_project(caller, document)
    assert (Project.objects.count(), Change.objects.count()) == before
    return {fault.pointer: fault.message for fault in caught.value.faults}


def statements(captured: CaptureQueriesContext) -> list[str]:
    """How each statement begins; the portions in which SQLite takes many rows count as one."""
    begins = [query["sql"][:40] for query in captured if "SAVEPOINT" not in query["sql"]]
    return [text for text, before in zip(begins, ["", *begins[:-1]], strict=True) if text != before]


def test_the_demo_tour_comes_back_byte_for_byte_and_plans_the_same() -> None:
    project = load_demo().project
    owner = project.memberships.get(role="owner").user
    text = as_text(project_document(project))
    copy = import_project(Caller(owner), parse(text))
    assert as_text(project_document(copy)) == text
    assert copy.pk != project.pk
    for venue in project.venues.all():
        assert fingerprint(build_scene(copy.venues.get(name=venue.name))) == fingerprint(build_scene(venue))


def test_every_kind_of_record_and_every_field_is_in_the_document(tour: Tour, document: Document) -> None:
    for noun in NOUNS:
        name = noun.path.replace("-", "_")
        here = document if noun.parent == "project" else document["venues"][0]
        assert name in here
        within = noun.within(tour.project if noun.parent == "project" else tour.venue)
        assert len(here[name]) == within.count()
    node = next(row for row in document["nodes"] if row["label"] == "N2")
    assert node["node_type"] == "Pocket"
    assert node["crew"] == "Costume"
    filled = ("trunk_length_m", "trunk_area_mm2", "main_fuse_a", "main_fuse_v", "main_fuse_breaks_a")
    assert {field.name for field in by_path()["nodes"].fields} == {*node, *filled}


def test_identifiers_versions_members_and_history_stay_out(tour: Tour, document: Document) -> None:
    text = as_text(document)
    for secret in (str(tour.project.pk), str(tour.venue.pk), '"version"', "created_at", "odile-owner", "vera-viewer"):
        assert secret not in text


def test_the_checksum_is_of_the_content_not_of_its_form(document: Document) -> None:
    shuffled = dict(reversed(deepcopy(document).items()))
    assert sha256_of(parse(json.dumps(shuffled))) == sha256_of(document)
    document["nodes"][0]["note"] = "changed"
    assert sha256_of(document) != sha256_of(shuffled)


def test_the_order_of_entry_does_not_show(owner: User) -> None:
    first, second = a_project(owner), a_project(owner)
    for project, order in ((first, 1), (second, -1)):
        a_kit(project, owner, 3)
        with edit(project, by(owner)) as change:
            sort = project.node_types.get()
            rows = [Node(project=project, label=f"X{i}", role="relay", node_type=sort) for i in range(5)]
            change.create(rows[::order])
    assert as_text(project_document(first)) == as_text(project_document(second))


def test_an_import_belongs_to_its_caller_and_is_in_the_history(caller: Caller, document: Document) -> None:
    copy = import_project(caller, document, name="Second lantern walk")
    assert copy.name == "Second lantern walk"
    assert list(copy.memberships.values_list("user__username", "role")) == [("odile-owner", "owner")]
    assert copy.revision == 2
    assert copy.changes.filter(revision=2, action="created", record_kind="Node").count() == copy.nodes.count()


def test_lists_and_optional_fields_may_be_left_out(caller: Caller) -> None:
    small = {"format": "showplan-project", "format_version": 1, "project": {"name": "Bare"}, "crews": [{"name": "A"}]}
    copy = import_project(caller, small)
    assert copy.crews.get().name == "A"
    assert project_document(copy)["project"] == {"name": "Bare", "note": ""}


def test_queries_do_not_grow_with_the_records(owner: User, caller: Caller) -> None:
    counts: dict[str, list[list[str]]] = {"export": [], "import": []}
    for size in (4, 8):
        venue = show_tour(owner, size, f"Tour of {size}")
        with CaptureQueriesContext(connection) as exporting:
            document = project_document(venue.project)
        with CaptureQueriesContext(connection) as importing:
            import_project(caller, document)
        counts["export"].append(statements(exporting))
        counts["import"].append(statements(importing))
    assert counts["export"][0] == counts["export"][1]
    assert counts["import"][0] == counts["import"][1]


def test_two_venues_cost_as_many_queries_as_one(caller: Caller, document: Document) -> None:
    with CaptureQueriesContext(connection) as one:
        import_project(caller, document)
    document["venues"].append({**document["venues"][0], "name": "Granary"})
    with CaptureQueriesContext(connection) as two:
        import_project(caller, document)
    assert statements(one) == statements(two)


@pytest.mark.parametrize(
    ("path", "value", "says"),
    [
        ("/format", "showplan-venue", "into a project"),
        ("/format", "something", "must be 'showplan-project'"),
        ("/format_version", 2, "update Showplan"),
        ("/format_version", True, "whole number"),
        ("/project", None, "must be an object"),
        ("/project/name", "", "blank"),
        ("/project/name", "x" * 81, "80"),
        ("/project/colour", "red", "is no field of a project"),
        ("/people", [], "is no field of a project document"),
        ("/nodes", {}, "must be a list"),
        ("/nodes/1", 7, "must be an object"),
        ("/nodes/1/colour", "red", "is no field of a node; known: label"),
        ("/nodes/1/node_type", "Purse", "there is no node type 'Purse'"),
        ("/nodes/1/node_type", 4, "name of a node type"),
        ("/nodes/1/role", "repeater", "gateway, relay, receiver"),
        ("/nodes/1/label", "N0", "stands twice in nodes"),
        ("/nodes/1/label", "a\x00b", "character"),
        ("/nodes/1/label", "\ud800", "character"),
        ("/nodes/1/is_worn", 1, "true or false"),
        ("/nodes/1/short_address", 1.5, "whole number"),
        ("/nodes/1/short_address", 0, "taken"),
        ("/nodes/1/short_address", 10**30, "too many digits"),
        ("/node_types/0/transmit_power_dbm", "3", "must be a number"),
        ("/node_types/0/transmit_power_dbm", float("nan"), "finite"),
        ("/node_types/0/transmit_power_dbm", 10**400, "finite"),
        ("/node_types/0/transmit_power_dbm", 99, "from -60 to 40"),
        ("/node_types/0/phy", "oqpsk-2405", "did you mean 'oqpsk-2450'"),
        ("/loads/0/output", 9, "4 outputs"),
        ("/loads/0/rated_v", None, "is missing"),
        ("/venues/0/levels/0/clear_height_m", -1, "must be from"),
        ("/venues/0/walls/0/level", "Cellar", "there is no level 'Cellar'"),
        ("/venues/0/walls/0/end_x_m", 300, "lies off level"),
        ("/venues/0/zones/1/corners_m", [[0, 0], [1, 1]], "at least 3 corners"),
        ("/venues/0/zones/1/corners_m", [[0, 0], [1, "1"], [2, 0]], "must be a number"),
        ("/venues/0/placements/0/node", "Nobody", "there is no node 'Nobody'"),
        ("/venues/0/placements/0/zone", "Stage", "not both"),
        ("/venues/0/placements/0/zone", "Rail & stairs", "on level 'Hall'"),
        ("/venues/0/tour_dates/0/date", "03.10.2026", "2027-05-01"),
        ("/venues/0/tour_dates/0/date", "2026-13-01", "2027-05-01"),
    ],
)
def test_a_fault_is_told_with_its_place(caller: Caller, document: Document, path: str, value: Any, says: str) -> None:
    *steps, last = path.removeprefix("/").split("/")
    here: Any = document
    for step in steps:
        here = here[int(step)] if isinstance(here, list) else here[step]
    here[int(last) if isinstance(here, list) else last] = value
    faults = faults_of(caller, document)
    assert path in faults, faults
    assert says in faults[path]
    row = path.rpartition("/")[0]
    # Nothing else is complained of but the same row, and what names a node that is not there any more.
    assert [at for at, why in faults.items() if not at.startswith(row) and "no node 'N1'" not in why] == []


def test_every_fault_of_every_part_is_told_at_once(caller: Caller, document: Document) -> None:
    document["nodes"][0]["node_type"] = "Purse"
    del document["loads"][0]["rated_v"]
    document["venues"][0]["walls"][0]["material"] = "straw"
    document["venues"][0]["colour"] = "red"
    assert set(faults_of(caller, document)) == {
        "/nodes/0/node_type",
        "/loads/0/rated_v",
        "/venues/0/walls/0/material",
        "/venues/0/colour",
    }


def test_broken_rules_of_several_kinds_are_told_at_once(caller: Caller, document: Document) -> None:
    document["loads"][0]["output"] = 9
    document["venues"][0]["walls"][0]["end_x_m"] = 300.0
    document["venues"][0]["placements"][1]["node"] = document["venues"][0]["placements"][0]["node"]
    faults = set(faults_of(caller, document))
    assert {"/loads/0/output", "/venues/0/walls/0/end_x_m", "/venues/0/placements/1/node"} <= faults


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('{"format": "a", "format": "b"}', "'format' stands twice"),
        ('{"a": NaN}', "NaN is not a JSON number"),
        (b"\xff\xfe", "not a JSON text"),
        ("[" * 100_000, "nested too deep"),
        ("{", "not a JSON text"),
    ],
)
def test_what_is_no_json_is_refused(text: str | bytes, says: str) -> None:
    with pytest.raises(InvalidDocument, match=says):
        parse(text)


def test_a_byte_order_mark_is_no_fault() -> None:
    assert parse(b"\xef\xbb\xbf{}") == {}


def test_a_venue_goes_into_another_project_with_the_same_kit(caller: Caller, tour: Tour, document: Document) -> None:
    copy = import_project(caller, {**document, "venues": []})
    exported = venue_document(tour.venue)
    venue = import_venue(caller, copy, parse(as_text(exported)))
    assert venue_document(venue) == exported
    assert fingerprint(build_scene(venue)) == fingerprint(build_scene(tour.venue))
    assert venue.revision == 1


def test_a_venue_whose_name_is_taken_needs_another(caller: Caller, tour: Tour) -> None:
    exported = venue_document(tour.venue)
    with pytest.raises(InvalidDocument, match=r"/venue/name: .*'Corn hall' already.*another name"):
        import_venue(caller, tour.project, exported)
    copy = import_venue(caller, tour.project, exported, name="Corn hall, second night")
    assert copy.placements.count() == tour.venue.placements.count()


def test_missing_nodes_and_types_are_told_one_by_one(caller: Caller, owner: User, tour: Tour) -> None:
    other = a_project(owner, "Other")
    exported = venue_document(tour.venue)
    with pytest.raises(InvalidDocument) as caught:
        import_venue(caller, other, exported)
    assert len(caught.value.faults) == tour.venue.placements.count()
    assert "there is no node 'N0'" in str(caught.value)
    assert not other.venues.exists()


def test_another_name_that_is_no_name_is_the_callers_fault(caller: Caller, tour: Tour, document: Document) -> None:
    with pytest.raises(InvalidInput, match="name"):
        import_project(caller, document, name="")
    with pytest.raises(InvalidInput, match="name"):
        import_venue(caller, tour.project, venue_document(tour.venue), name="x" * 81)


def test_rights(tour: Tour, viewer: User, outsider: User, owner: User, document: Document) -> None:
    exported = venue_document(tour.venue)
    with pytest.raises(NotAllowed, match="viewer"):
        import_venue(Caller(viewer), tour.project, exported, name="Mine")
    with pytest.raises(NotFound):
        import_venue(Caller(outsider), tour.project, exported, name="Mine")
    reader = Token(user=owner, name="reader", can_read=True, can_write=False)
    with pytest.raises(NotAllowed, match="write"):
        import_project(Caller(owner, reader), document)
    bound = Token(user=owner, name="bound", can_write=True, project=tour.project)
    with pytest.raises(NotAllowed, match="bound to one project"):
        import_project(Caller(owner, bound), document)
    assert not Venue.objects.filter(name="Mine").exists()


def test_negative_zero_and_whole_numbers_have_one_form(caller: Caller, document: Document) -> None:
    changed = deepcopy(document)
    changed["venues"][0]["levels"][0]["origin_x_m"] = -0.0
    changed["node_types"][0]["transmit_power_dbm"] = 3
    copy = import_project(caller, changed)
    assert as_text(project_document(copy)) == as_text(document)


def test_exporting_what_was_deleted_meanwhile(owner: User) -> None:
    venue = a_tour(owner)
    Venue.objects.filter(pk=venue.pk).delete()
    with pytest.raises(NotFound, match="deleted meanwhile"):
        venue_document(venue)
    project = venue.project
    Membership.objects.filter(project=project).delete()
    Project.objects.filter(pk=project.pk).delete()
    with pytest.raises(NotFound, match="deleted meanwhile"):
        project_document(project)
