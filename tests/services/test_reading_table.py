"""Walk-test readings as CSV: out and in again, at a node's point, and every fault with its line and column."""

import csv
import io
from datetime import UTC, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from showplan.records.models import Change, Placement, Reading, User
from showplan.services.editing import edit
from showplan.services.errors import InvalidTable, NotAllowed
from showplan.services.exchange import READINGS, TableReport, import_readings, table_of
from showplan.services.rights import Caller
from showplan.services.scenes import build_scene
from tests.conftest import Tour
from tests.tours import by

pytestmark = pytest.mark.django_db
HEADER = "level,x_m,y_m,height_m,transmitter,receiver_type,received_dbm,packet_error,taken_at,taken_by"
TWO = (
    HEADER,
    "Hall,12,6.5,1.2,N0,Pocket,-61,,2026-03-01T10:00:00Z,Bea",
    "Hall,20,6.5,1.2,N0,Pocket,,1,2026-03-01T11:02:00+01:00,",
)
GOOD = {
    "level": "Hall",
    "x_m": "12",
    "y_m": "6.5",
    "height_m": "1.2",
    "transmitter": "N0",
    "receiver_type": "Pocket",
    "received_dbm": "-61",
    "packet_error": "",
    "taken_at": "2026-03-01T10:00:00Z",
    "taken_by": "Bea",
    "at_node": "",
}


@pytest.fixture
def caller(owner: User) -> Caller:
    return Caller(owner)


def read(caller: Caller, tour: Tour, *lines: str, dry_run: bool = False) -> TableReport:
    return import_readings(caller, tour.venue, "\r\n".join(lines), dry_run=dry_run)


def table(*rows: dict[str, str]) -> str:
    """Rows that differ from GOOD as said, as a table with every column."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, GOOD)
    writer.writeheader()
    writer.writerows(GOOD | row for row in rows)
    return out.getvalue()


def faults(caller: Caller, tour: Tour, text: str) -> list[tuple[int, str, str]]:
    """(line, column, what was wrong) of a refused table; nothing may have been written."""
    before = Change.objects.count(), Reading.objects.count()
    with pytest.raises(InvalidTable) as caught:
        import_readings(caller, tour.venue, text)
    assert (Change.objects.count(), Reading.objects.count()) == before
    return [(fault.line, fault.column, fault.detail) for fault in caught.value.faults]


def test_lines_become_readings_and_a_second_time_adds_none(caller: Caller, tour: Tour) -> None:
    report = read(caller, tour, *TWO)
    assert [(row.line, row.label, row.action) for row in report.rows] == [
        (2, "N0 at (12, 6.5) m on Hall, 2026-03-01T10:00:00Z", "create"),
        (3, "N0 at (20, 6.5) m on Hall, 2026-03-01T10:02:00Z", "create"),
    ]
    first, second = Reading.objects.all()
    assert (first.x_m, first.height_m, first.received_dbm, first.packet_error) == (12.0, 1.2, -61.0, None)
    assert (first.taken_by, first.transmitter.label, first.receiver_type.name) == ("Bea", "N0", "Pocket")
    assert second.taken_at == datetime(2026, 3, 1, 10, 2, tzinfo=UTC)
    before = Change.objects.count()
    again = read(caller, tour, *TWO)
    assert (again.rows, again.unchanged, again.revision) == ((), 2, report.revision)
    assert (Reading.objects.count(), Change.objects.count()) == (2, before)


def test_what_goes_out_comes_in_again(caller: Caller, tour: Tour) -> None:
    read(caller, tour, *TWO)
    out = table_of(READINGS, tour.venue)
    assert out.splitlines() == [
        HEADER,
        "Hall,12.0,6.5,1.2,N0,Pocket,-61.0,,2026-03-01T10:00:00Z,Bea",
        "Hall,20.0,6.5,1.2,N0,Pocket,,1.0,2026-03-01T10:02:00Z,",
    ]
    assert import_readings(caller, tour.venue, out.encode()).unchanged == 2
    Reading.objects.all().delete()
    assert import_readings(caller, tour.venue, out.encode()).count("create") == 2
    assert table_of(READINGS, tour.venue) == out


def test_a_reading_at_a_node_is_at_its_point_and_stays_there(caller: Caller, owner: User, tour: Tour) -> None:
    place = Placement.objects.get(venue=tour.venue, node__label="N3")
    read(
        caller,
        tour,
        "at_node;transmitter;receiver_type;received_dbm;taken_at",
        "N3;N0;Pocket;-55.5;2026-03-01T10:00:00Z",
    )
    [found] = Reading.objects.all()
    here = (place.level_id, place.x_m, place.y_m, place.height_m)
    assert (found.level_id, found.x_m, found.y_m, found.height_m) == here
    with edit(tour.project, by(owner)) as change:
        change.update(place, {"x_m": 39.0})
    found.refresh_from_db()
    assert found.x_m == here[1]


def test_a_dry_run_says_the_same_and_writes_nothing(caller: Caller, tour: Tour) -> None:
    before = Change.objects.count()
    tried = read(caller, tour, *TWO, dry_run=True)
    assert (Reading.objects.count(), Change.objects.count()) == (0, before)
    done = read(caller, tour, *TWO)
    assert (tried.rows, tried.unchanged, tried.revision + 1) == (done.rows, done.unchanged, done.revision)


def test_an_equal_line_in_one_table_counts_once(caller: Caller, tour: Tour) -> None:
    report = read(caller, tour, *TWO, TWO[1])
    assert (report.count("create"), report.unchanged) == (2, 1)


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        ({"transmitter": "N77"}, "transmitter", "there is no node 'N77' in the project"),
        ({"level": "Attic"}, "level", "there is no level 'Attic' in the venue"),
        ({"level": ""}, "level", "must not be empty"),
        ({"x_m": ""}, "x_m", "must not be empty"),
        ({"height_m": "6.5"}, "height_m", "6"),
        ({"receiver_type": "Brick"}, "receiver_type", "there is no node type 'Brick' in the project"),
        ({"received_dbm": "3.5"}, "received_dbm", "3.5 dBm is more than 'N0' sends, 3 dBm"),
        ({"received_dbm": "NaN"}, "received_dbm", "must be a number, not 'NaN'"),
        ({"received_dbm": "inf"}, "received_dbm", "must be a number, not 'inf'"),
        ({"received_dbm": "-61,5"}, "received_dbm", "write -61.5 with a decimal point"),
        ({"received_dbm": "-200"}, "received_dbm", "-174"),
        ({"received_dbm": ""}, "received_dbm", "a reading needs received_dbm, packet_error or both"),
        ({"packet_error": "20"}, "packet_error", "1"),
        ({"taken_at": "yesterday"}, "taken_at", "must be a time with its offset, such as 2027-05-01T18:30:00Z"),
        ({"taken_at": "2026-03-01T10:00:00"}, "taken_at", "must be a time with its offset"),
        ({"taken_at": "2026-02-30T10:00:00Z"}, "taken_at", "must be a time with its offset"),
        ({"taken_at": ""}, "taken_at", "must not be empty"),
        ({"taken_by": "x" * 81}, "taken_by", "80"),
        ({"at_node": "N3", "level": "", "y_m": "", "height_m": ""}, "x_m", "leave this empty where at_node says"),
    ],
)
def test_one_wrong_cell_is_one_fault(caller: Caller, tour: Tour, row: dict[str, str], column: str, words: str) -> None:
    [fault] = faults(caller, tour, table({"taken_at": "2026-03-01T09:00:00Z"}, row))
    assert fault[:2] == (3, column)
    assert words in fault[2]


@pytest.mark.parametrize(
    ("at_node", "words"),
    [
        ("N77", "there is no node 'N77' in the project"),
        ("N4", "node 'N4' has no place in this venue: place it, or give the position"),
        ("N5", "node 'N5' moves in zone 'Stage': give the position"),
        ("N0", "node 'N0' is the transmitter itself"),
    ],
)
def test_a_node_that_gives_no_place(caller: Caller, owner: User, tour: Tour, at_node: str, words: str) -> None:
    Placement.objects.get(venue=tour.venue, node__label="N4").delete()
    moving = Placement.objects.select_related("level").get(venue=tour.venue, node__label="N5")
    with edit(tour.project, by(owner)) as change:
        change.update(moving, {"zone": moving.level.zones.get(), "x_m": None, "y_m": None})
    nowhere = {"level": "", "x_m": "", "y_m": "", "height_m": ""}
    assert faults(caller, tour, table(nowhere | {"at_node": at_node})) == [(2, "at_node", words)]


def test_every_wrong_cell_has_its_own_fault(caller: Caller, tour: Tour) -> None:
    rows = {"x_m": "left", "taken_at": "noon"}, {"transmitter": "N77", "received_dbm": "loud"}
    found = faults(caller, tour, table(*rows))
    assert [fault[:2] for fault in found] == [(2, "x_m"), (2, "taken_at"), (3, "transmitter"), (3, "received_dbm")]


def test_a_position_off_its_level(caller: Caller, tour: Tour) -> None:
    found = faults(caller, tour, table({"x_m": "41"}))
    assert {(line, column) for line, column, _ in found} == {(2, "x_m"), (2, "y_m")}
    assert "Hall" in found[0][2]


def test_columns(caller: Caller, tour: Tour) -> None:
    assert "is no column here; known: at_node, level" in faults(caller, tour, "level,rssi\nHall,-60\n")[0][2]
    lacking = faults(caller, tour, "level,x_m,transmitter,receiver_type,taken_at\nHall,1,N0,Pocket,2026-03-01T10:00Z\n")
    assert [(line, column) for line, column, _ in lacking] == [(2, "y_m"), (2, "height_m")]
    assert lacking[0][2] == "this column is missing: a reading needs it, or at_node"


def test_the_same_moment_with_another_value_is_refused(caller: Caller, tour: Tour) -> None:
    """Two such readings would be one and the same to the planner."""
    read(caller, tour, *TWO)
    [fault] = faults(caller, tour, table({"received_dbm": "-70"}))
    assert fault[:2] == (2, "taken_at")
    assert "stands in the venue, with received_dbm -61.0, packet_error empty" in fault[2]
    [fault] = faults(caller, tour, table({"x_m": "13"}, {"x_m": "13", "received_dbm": "-70"}))
    assert (fault[0], "stands in line 2" in fault[2]) == (3, True)
    assert len(build_scene(tour.venue).readings) == 2


def test_viewers_may_not(viewer: User, tour: Tour) -> None:
    with pytest.raises(NotAllowed):
        read(Caller(viewer), tour, *TWO)


def test_queries_do_not_grow_with_the_lines(caller: Caller, tour: Tour) -> None:
    def queries(count: int, day: int) -> int:
        rows = [{"taken_at": f"2026-04-{day:02}T10:{i:02}:00Z"} for i in range(count)]
        with CaptureQueriesContext(
            connection,
        ) as caught:
            assert import_readings(caller, tour.venue, table(*rows)).count("create") == count
        return len(caught)

    assert queries(5, 1) == queries(40, 2)
