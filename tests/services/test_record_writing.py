"""Writing records of any noun for a caller, below pages and API."""

from uuid import uuid4

import pytest

from showplan.records.models import Change, Crew, Level, User, Wall
from showplan.services.errors import InvalidInput, NotAllowed, NotFound, StaleWrite
from showplan.services.nouns import NOUNS, by_path
from showplan.services.record_writing import (
    Update,
    create_record,
    delete_record,
    get_record,
    get_records,
    project_of,
    update_record,
    write_records,
)
from showplan.services.rights import Caller
from tests.conftest import Tour
from tests.tours import a_venue

pytestmark = pytest.mark.django_db
CREWS, WALLS = by_path()["crews"], by_path()["walls"]


def wall_values(level: Level, label: str, **values: object) -> dict[str, object]:
    """A valid wall."""
    points = {"start_x_m": 1.0, "start_y_m": 1.0, "end_x_m": 5.0, "end_y_m": 1.0}
    return {"level": level, "label": label, "height_m": 2.0, "material": "wood-20"} | points | values


def faults_of(caught: pytest.ExceptionInfo[InvalidInput]) -> list[tuple[str, int | None, str]]:
    """Part, row and field of each fault."""
    return [(fault.part, fault.row, fault.field) for fault in caught.value.faults]


def test_a_record_is_made_changed_and_deleted_for_a_caller(tour: Tour, editor: User) -> None:
    caller, hall = Caller(editor), Level.objects.get(name="Hall")
    wall = create_record(caller, WALLS, tour.venue, wall_values(hall, "W9"))
    changed = update_record(caller, WALLS, tour.venue, Update(wall.pk, {"height_m": 3.0}, 1))
    assert (changed.version, get_record(WALLS, tour.venue, wall.pk).version) == (2, 2)
    with pytest.raises(StaleWrite):
        update_record(caller, WALLS, tour.venue, Update(wall.pk, {"height_m": 4.0}, 1))
    with pytest.raises(StaleWrite):
        delete_record(caller, WALLS, tour.venue, wall.pk, 1)
    delete_record(caller, WALLS, tour.venue, wall.pk, None)
    with pytest.raises(NotFound, match="there is no wall"):
        get_record(WALLS, tour.venue, wall.pk)
    assert project_of(tour.venue) == project_of(tour.project) == tour.project


def test_faults_of_both_parts_are_found_together(tour: Tour, editor: User) -> None:
    hall = Level.objects.get(name="Hall")
    w1, w2 = (Wall.objects.get(label=label) for label in ("W1", "W2"))
    rows = Change.objects.count()
    with pytest.raises(InvalidInput) as caught:
        write_records(
            Caller(editor),
            WALLS,
            tour.venue,
            create=[
                wall_values(hall, "good"),
                wall_values(hall, "W1"),
                wall_values(hall, "low", height_m=-1.0),
                wall_values(hall, "good"),
            ],
            update=[Update(w1.pk, {"height_m": 3.0}, 1), Update(w2.pk, {"end_x_m": 99.0, "label": "W1"}, 1)],
        )
    assert faults_of(caught) == [
        ("create", 1, "label"),
        ("create", 2, "height_m"),
        ("create", 3, "label"),
        ("update", 1, "end_x_m"),
        ("update", 1, "end_y_m"),
    ]
    assert Change.objects.count() == rows
    assert set(hall.walls.values_list("label", "version")) == {("W1", 1), ("W2", 1)}


def test_one_row_of_a_bulk_write_is_counted_and_one_record_is_not(tour: Tour, editor: User) -> None:
    with pytest.raises(InvalidInput) as caught:
        write_records(Caller(editor), CREWS, tour.project, create=[{"name": ""}])
    assert faults_of(caught) == [("create", 0, "name")]
    with pytest.raises(InvalidInput) as caught:
        create_record(Caller(editor), CREWS, tour.project, {"name": ""})
    assert faults_of(caught) == [("", None, "name")]
    with pytest.raises(InvalidInput) as caught:
        create_record(Caller(editor), WALLS, tour.venue, {"label": "W9"})
    assert faults_of(caught) == [("", None, "level")]


def test_a_name_is_free_only_after_the_write_that_gives_it_up(tour: Tour, editor: User) -> None:
    """Whichever order the rows are in: databases check row by row, so the answer must not hang on the order."""
    first, second = (Crew.objects.create(project=tour.project, name=name) for name in ("a", "b"))
    for step in (1, -1):
        rows = [Update(first.pk, {"name": "c"}), Update(second.pk, {"name": "a"})][::step]
        with pytest.raises(InvalidInput, match="'a' is already there in this project") as caught:
            write_records(Caller(editor), CREWS, tour.project, update=rows)
        assert faults_of(caught) == [("update", 1 if step == 1 else 0, "name")]
    write_records(Caller(editor), CREWS, tour.project, update=[Update(first.pk, {"name": "c"})])
    write_records(Caller(editor), CREWS, tour.project, update=[Update(second.pk, {"name": "a"})])
    assert set(Crew.objects.filter(pk__in=(first.pk, second.pk)).values_list("name", flat=True)) == {"a", "c"}


def test_a_record_twice_or_of_another_place_is_refused(tour: Tour, owner: User) -> None:
    wall, other = Wall.objects.get(label="W1"), a_venue(tour.project, owner, "Second hall")
    with pytest.raises(InvalidInput) as caught:
        write_records(Caller(owner), WALLS, tour.venue, update=[Update(wall.pk, {})] * 3)
    assert faults_of(caught) == [("update", 1, "id"), ("update", 2, "id")]
    theirs = Wall.objects.get(label="W1", level__venue=other)
    for key in (theirs.pk, uuid4()):
        with pytest.raises(NotFound, match=f"there is no wall {key}"):
            write_records(Caller(owner), WALLS, tour.venue, update=[Update(wall.pk, {}), Update(key, {})])


def test_records_come_in_the_order_asked_for_and_share_their_parent(tour: Tour) -> None:
    keys = [Wall.objects.get(label=label).pk for label in ("W2", "W1")]
    found = get_records(WALLS, tour.venue, keys)
    assert [record.pk for record in found] == keys
    assert all(isinstance(one, Wall) and one.level.venue is tour.venue for one in found)


def test_viewers_write_nothing_of_any_noun(tour: Tour, viewer: User, outsider: User) -> None:
    for noun in NOUNS:
        parent = tour.venue if noun.parent == "venue" else tour.project
        for user, error in ((viewer, NotAllowed), (outsider, NotFound)):
            with pytest.raises(error):
                write_records(Caller(user), noun, parent, create=[{}])
            with pytest.raises(error):
                delete_record(Caller(user), noun, parent, uuid4(), None)
