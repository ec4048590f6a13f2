"""Timelines as records and tables: out and in, what is refused, and what the Scene and a file carry."""

import io
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse

from showplan.planner.scene_file import fingerprint, read, write
from showplan.records.models import Change, ShowTimeline, User
from showplan.services.air import air_of_venue
from showplan.services.errors import InvalidInput, InvalidTable, StillInUse
from showplan.services.exchange import import_table, table_of
from showplan.services.nouns import by_path
from showplan.services.record_writing import Update, create_record, delete_record, update_record
from showplan.services.rights import Caller
from showplan.services.scenes import build_scene
from tests.conftest import Tour

pytestmark = pytest.mark.django_db
TIMELINES, TRAFFICS = by_path()["timelines"], by_path()["traffic-settings"]
TABLE = "timeline,time_s,slot,level\r\nAct,12.5,2,0\r\nAct,0,1,255\r\nAct,600,1,0\r\nBows,0,1,128\r\n"
IN_ORDER = "timeline,time_s,slot,level\r\nAct,0,1,255\r\nAct,12.5,2,0\r\nAct,600,1,0\r\nBows,0,1,128\r\n"


@pytest.fixture
def caller(owner: User) -> Caller:
    return Caller(owner)


def test_a_table_makes_timelines_and_replaces_their_rows(caller: Caller, tour: Tour) -> None:
    tried = import_table(caller, TIMELINES, tour.project, TABLE, dry_run=True)
    assert (tried.count("create"), ShowTimeline.objects.count()) == (2, 0)
    made = import_table(caller, TIMELINES, tour.project, TABLE)
    assert [(row.line, row.label, row.action) for row in made.rows] == [(2, "Act", "create"), (5, "Bows", "create")]
    assert table_of(TIMELINES, tour.project) == IN_ORDER
    again = import_table(caller, TIMELINES, tour.project, IN_ORDER)
    assert (again.rows, again.unchanged, again.revision) == ((), 2, made.revision)
    changed = import_table(caller, TIMELINES, tour.project, "timeline;time_s;slot;level\nAct;1;7;9\n")
    assert [(row.label, row.action) for row in changed.rows] == [("Act", "update")]
    assert {one.name: one.rows for one in ShowTimeline.objects.all()} == {"Act": "1,7,9", "Bows": "0,1,128"}


@pytest.mark.parametrize(
    ("lines", "line", "column", "words"),
    [
        ("time_s,slot,level\n0,1,2", 1, "timeline", "this column is missing"),
        ("timeline,time_s,slot,level,colour\nA,0,1,2,red", 1, "colour", "is no column here"),
        ("timeline,time_s,slot,level\nA,0,1,2\nA,soon,1,2", 3, "time_s", "must be from 0 to 86400 s"),
        ('timeline,time_s,slot,level\nA,"0,5",1,2', 2, "time_s", "decimal point"),
        ("timeline,time_s,slot,level\nA,0,0,2", 2, "slot", "from 1 to 32768"),
        ("timeline,time_s,slot,level\nA,0,1,256", 2, "level", "from 0 to 255"),
        ("timeline,time_s,slot,level\n,0,1,2", 2, "timeline", "must not be empty"),
        ("timeline,time_s,slot,level\nA,0,1,2\nB,0,1,2\nA,0.0,1,3", 4, "slot", "at 0 s already, in line 2"),
        (f"timeline,time_s,slot,level\n{'x' * 81},0,1,2", 2, "name", "80"),
        ("timeline,time_s,slot,level\n" + "\n".join(f"A,{i},1,2" for i in range(10_001)), 10_002, "", "above 10,000"),
    ],
)
def test_bad_tables(caller: Caller, tour: Tour, lines: str, line: int, column: str, words: str) -> None:
    changes = Change.objects.count()
    with pytest.raises(InvalidTable) as caught:
        import_table(caller, TIMELINES, tour.project, lines)
    [fault] = caught.value.faults
    assert (fault.line, fault.column) == (line, column)
    assert words in fault.detail
    assert (ShowTimeline.objects.count(), Change.objects.count()) == (0, changes)


def test_rows_are_checked_and_put_in_order(caller: Caller, tour: Tour) -> None:
    made = create_record(caller, TIMELINES, tour.project, {"name": "Act", "rows": "2,1,0\r\n\r\n1.50,1,255"})
    assert made.rows == "1.5,1,255\n2,1,0"  # type: ignore[attr-defined]
    for rows in ("2,1", "0,1,300", " \n"):
        with pytest.raises(InvalidInput) as caught:
            create_record(caller, TIMELINES, tour.project, {"name": "Bad", "rows": rows})
        assert [fault.field for fault in caught.value.faults] == ["rows"]


def test_a_network_by_timeline(caller: Caller, tour: Tour) -> None:
    """It goes into the Scene and its file, cannot be taken away while in use, and goes with changes only."""
    network = tour.project.networks.get(name="Show")
    timeline = create_record(caller, TIMELINES, tour.project, {"name": "Act", "rows": "0,1,255\n60,1,0"})
    values: dict[str, Any] = {"network": network, "coding": "changes", "timeline": timeline}
    with pytest.raises(InvalidInput) as caught:
        create_record(caller, TRAFFICS, tour.project, {**values, "coding": "full"})
    assert [fault.field for fault in caught.value.faults] == ["timeline"]
    setting = create_record(caller, TRAFFICS, tour.project, values)
    with pytest.raises(StillInUse):
        delete_record(caller, TIMELINES, tour.project, timeline.pk, 1)
    scene = build_scene(tour.venue)
    assert (scene.traffic(network.name).timeline, scene.timelines[0].rows) == ("Act", "0,1,255;60,1,0")
    assert fingerprint(read(write(scene))) == fingerprint(scene)
    [air] = [one for one in air_of_venue(tour.venue)["networks"] if one["network"] == network.name]
    assert air["timeline"]["timeline"] == "Act"
    out = io.StringIO()
    call_command("air", tour.venue.name, stdout=out)
    assert "timeline Act" in out.getvalue()
    update_record(caller, TRAFFICS, tour.project, Update(setting.pk, {"timeline": None}, 1))
    delete_record(caller, TIMELINES, tour.project, timeline.pk, 1)


def test_by_command_and_page(client, owner: User, tour: Tour, tmp_path) -> None:
    path, out = tmp_path / "act.csv", io.StringIO()
    path.write_text(TABLE)
    call_command("import", str(path), "--project", tour.project.name, "--table", "timelines", stdout=out)
    assert "2 new" in out.getvalue()
    out = io.StringIO()
    call_command("export", tour.project.name, "--table", "timelines", stdout=out)
    assert out.getvalue() == IN_ORDER
    client.force_login(owner)
    page = reverse("files", args=[tour.project.pk])
    upload = {"table-kind": "timelines", "read-table": "1"}
    told = client.post(
        page, {**upload, "table-file": SimpleUploadedFile("act.csv", TABLE.replace("128", "129").encode())}, follow=True
    )
    assert "The table of timelines was read in: 0 new, 1 changed, 1 the same." in told.content.decode()
    refused = client.post(
        page, {**upload, "table-file": SimpleUploadedFile("act.csv", TABLE.replace("128", "256").encode())}
    )
    assert (refused.status_code, "from 0 to 255" in refused.content.decode()) == (409, True)
    long = "\n".join(f"{i},1,{i % 2}" for i in range(400))
    ShowTimeline.objects.filter(name="Act").update(rows=long)
    act = ShowTimeline.objects.get(name="Act")
    assert client.get(reverse("project-records-list", args=[tour.project.pk, "timelines"])).status_code == 200
    shown = client.get(reverse("project-records-edit", args=[tour.project.pk, "timelines", act.pk])).content.decode()
    assert "399,1,1" in shown
    history = client.get(reverse("project-records-history", args=[tour.project.pk, "timelines", act.pk]))
    assert history.status_code == 200
