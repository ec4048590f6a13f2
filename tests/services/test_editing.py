"""Writing records: all or nothing, in the history, with versions that guard against lost updates."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from showplan.records.models import Change, Crew, Node, Placement, Project, User, Venue, Wall
from showplan.services.editing import edit
from showplan.services.errors import InvalidInput, NotFound, StaleWrite, StillInUse
from tests.tours import a_kit, a_project, a_tour, a_user, a_venue, by, place_all

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return a_user("olga")


@pytest.fixture
def venue(owner: User) -> Venue:
    return a_tour(owner)


def faults_of(caught) -> list[tuple[int | None, str]]:
    return [(fault.row, fault.field) for fault in caught.value.faults]


def test_an_edit_grows_the_revisions_and_says_who_changed_what(venue: Venue, owner: User) -> None:
    project, wall = venue.project, Wall.objects.get(label="W1")
    before, venue_before = project.revision, Venue.objects.get(pk=venue.pk).revision
    with edit(project, by(owner)) as change:
        change.update(wall, {"height_m": 3.0}, based_on=1)
    assert Project.objects.get(pk=project.pk).revision == before + 1
    assert Venue.objects.get(pk=venue.pk).revision == venue_before + 1
    row = Change.objects.first()
    assert row is not None
    assert (row.action, row.record_kind, row.record_name) == ("updated", "Wall", "W1")
    assert (row.before, row.after) == ({"height_m": 4.0}, {"height_m": 3.0})
    assert (row.actor_name, row.via, row.revision, row.venue_revision) == ("olga", "test", before + 1, venue_before + 1)
    assert Wall.objects.get(pk=wall.pk).version == 2


def test_a_write_that_changes_nothing_leaves_no_trace(venue: Venue, owner: User) -> None:
    wall = Wall.objects.get(label="W1")
    rows, revision = Change.objects.count(), Project.objects.get(pk=venue.project_id).revision
    with edit(venue.project, by(owner)) as change:
        change.update(wall, {"height_m": 4.0})
    assert Change.objects.count() == rows
    assert Project.objects.get(pk=venue.project_id).revision == revision


def test_a_stale_write_is_refused_with_both_versions(venue: Venue, owner: User) -> None:
    mine, theirs = Wall.objects.get(label="W1"), Wall.objects.get(label="W1")
    with edit(venue.project, by(owner)) as change:
        change.update(theirs, {"height_m": 3.0}, based_on=1)
    with (
        pytest.raises(StaleWrite, match="you had version 1, it is now version 2"),
        edit(venue.project, by(owner)) as change,
    ):
        change.update(mine, {"height_m": 2.0}, based_on=1)
    assert Wall.objects.get(label="W1").height_m == 3.0


def test_the_version_is_checked_again_in_the_write_itself(venue: Venue, owner: User) -> None:
    """Both read version 1 and say so; only the database can tell who came second."""
    mine, theirs = Wall.objects.get(label="W1"), Wall.objects.get(label="W1")
    with edit(venue.project, by(owner)) as change:
        change.update(theirs, {"height_m": 3.0})
    with pytest.raises(StaleWrite), edit(venue.project, by(owner)) as change:
        change.delete(mine)
    assert Wall.objects.filter(label="W1").exists()


def test_one_bad_row_writes_none_and_names_each_fault(venue: Venue, owner: User) -> None:
    level = venue.levels.get()
    values = {"level": level, "start_x_m": 1.0, "start_y_m": 1.0, "end_y_m": 1.0, "material": "brick-102"}
    walls = [
        Wall(label="good", end_x_m=5.0, height_m=2.0, **values),
        Wall(label="flat", end_x_m=1.0, height_m=2.0, **values),
        Wall(label="low", end_x_m=5.0, height_m=-1.0, **values),
        Wall(label="nan", end_x_m=5.0, height_m=float("nan"), **values),
        Wall(label="far", end_x_m=99.0, height_m=2.0, **values),
        Wall(label="cheese", end_x_m=5.0, height_m=2.0, **(values | {"material": "cheese"})),
    ]
    with pytest.raises(InvalidInput) as caught, edit(venue.project, by(owner)) as change:
        change.create(walls)
    assert faults_of(caught) == [
        (1, "end_x_m"),
        (2, "height_m"),
        (3, "height_m"),
        (4, "end_x_m"),
        (4, "end_y_m"),
        (5, "material"),
    ]
    assert not Wall.objects.filter(label="good").exists()


def test_an_error_half_way_undoes_the_whole_edit(venue: Venue, owner: User) -> None:
    rows = Change.objects.count()

    def write_one_good_and_one_bad() -> None:
        with edit(venue.project, by(owner)) as change:
            change.create([Crew(project=venue.project, name="Scenic")])
            change.create([Crew(project=venue.project, name="Costume")])

    with pytest.raises(InvalidInput):
        write_one_good_and_one_bad()
    assert not Crew.objects.filter(name="Scenic").exists()
    assert Change.objects.count() == rows


def test_duplicates_are_found_in_the_database_and_within_one_batch(venue: Venue, owner: User) -> None:
    node = Node.objects.get(label="N2")

    def copy(label: str, address: int) -> Node:
        return Node(
            project=venue.project,
            label=label,
            role="receiver",
            node_type=node.node_type,
            network=node.network,
            short_address=address,
        )

    with pytest.raises(InvalidInput) as caught, edit(venue.project, by(owner)) as change:
        change.create([copy("N2", 90), copy("N90", 91), copy("N91", 91), copy("N92", 2)])
    assert sorted(faults_of(caught)) == [(0, "label"), (2, "short_address"), (3, "short_address")]


def test_another_projects_records_cannot_be_touched_or_used(venue: Venue, owner: User) -> None:
    stranger = a_user()
    other = a_project(stranger, "Other show")
    with pytest.raises(NotFound), edit(other, by(stranger)) as change:
        change.delete(Wall.objects.get(label="W1"))
    node = Node.objects.get(label="N2")
    with pytest.raises(InvalidInput, match="another project"), edit(other, by(stranger)) as change:
        change.create([Node(project=other, label="X", role="relay", node_type=node.node_type)])


def test_what_is_in_use_cannot_be_deleted(venue: Venue, owner: User) -> None:
    node = Node.objects.get(label="N2")
    with pytest.raises(StillInUse, match="node N"), edit(venue.project, by(owner)) as change:
        change.delete(node.node_type)


def test_a_venue_can_be_deleted_with_all_that_is_in_it(venue: Venue, owner: User) -> None:
    with edit(venue.project, by(owner)) as change:
        change.delete(venue)
    assert not Placement.objects.exists()
    rows = Change.objects.filter(revision=venue.project.revision)
    assert {row.record_kind for row in rows} == {"Venue", "Level", "Wall", "Zone", "Placement"}
    assert {(row.action, row.venue, row.venue_name) for row in rows} == {("deleted", None, "Corn hall")}


def test_records_that_only_lose_a_reference_are_in_the_history(venue: Venue, owner: User) -> None:
    crew = Crew.objects.get()
    with edit(venue.project, by(owner)) as change:
        change.delete(crew)
    rows = Change.objects.filter(revision=venue.project.revision, record_kind="Node")
    assert rows.count() == Node.objects.count() == 8
    assert {row.before["crew_id"] for row in rows} == {str(crew.pk)}
    assert {row.after["crew_id"] for row in rows} == {None}
    assert set(Node.objects.values_list("version", flat=True)) == {2}


def test_queries_do_not_grow_with_the_rows(owner: User) -> None:
    counts = []
    for rows in (10, 20):
        project = a_project(owner, f"Tour of {rows}")
        venue = a_venue(project, owner)
        nodes = a_kit(project, owner, rows - 2)
        with CaptureQueriesContext(connection) as queries:
            place_all(venue, owner, nodes)
        counts.append(len(queries))
    assert counts[0] == counts[1]
