"""Nodes and loads as CSV tables: the same out and in, and every fault with its line and column."""

import csv
import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from showplan.records.models import Change, Load, Node, User
from showplan.services.editing import edit
from showplan.services.errors import InvalidTable, NotAllowed
from showplan.services.exchange import TableReport, import_table, table_of
from showplan.services.nouns import by_path
from showplan.services.rights import Caller
from tests.conftest import Tour
from tests.tours import a_kit, a_project, by

pytestmark = pytest.mark.django_db
NODES, LOADS = by_path()["nodes"], by_path()["loads"]
# A table need not have every column; those of the trunk and the main fuse are left out here.
POWER = "trunk_length_m,trunk_area_mm2,main_fuse_a,main_fuse_class,main_fuse_v,main_fuse_breaks_a,main_fuse_mohm"
HEADER = "label,role,node_type,network,short_address,supply,crew,is_worn,on_signal_loss,signal_lost_after_s,note"
WHOLE_HEADER = HEADER.replace("note", f"{POWER},note")


@pytest.fixture
def caller(owner: User) -> Caller:
    return Caller(owner)


def read(caller: Caller, tour: Tour, *lines: str, dry_run: bool = False, noun=NODES) -> TableReport:
    """Import lines of text."""
    return import_table(caller, noun, tour.project, "\r\n".join(lines), dry_run=dry_run)


def faults(caller: Caller, tour: Tour, *lines: str | bytes, noun=NODES) -> list[tuple[int, str, str]]:
    """(line, column, what was wrong) of a refused table; nothing may have been written."""
    text = b"\r\n".join(line if isinstance(line, bytes) else line.encode() for line in lines)
    before = Change.objects.count()
    with pytest.raises(InvalidTable) as caught:
        import_table(caller, noun, tour.project, text)
    assert Change.objects.count() == before
    return [(fault.line, fault.column, fault.detail) for fault in caught.value.faults]


@pytest.mark.parametrize("noun", [NODES, LOADS], ids=["nodes", "loads"])
@pytest.mark.parametrize("mark", ["", "\ufeff"], ids=["bare", "byte order mark"])
def test_what_was_exported_changes_nothing(caller: Caller, tour: Tour, noun, mark: str) -> None:
    text = table_of(noun, tour.project)
    report = import_table(caller, noun, tour.project, (mark + text).encode())
    assert (report.rows, report.unchanged) == ((), noun.within(tour.project).count())
    assert table_of(noun, tour.project) == text


def test_columns_are_the_fields_and_references_are_names(tour: Tour) -> None:
    rows = list(csv.reader(io.StringIO(table_of(NODES, tour.project), newline="")))
    assert ",".join(rows[0]) == WHOLE_HEADER
    power = ["", "", "", "blade", "", "", "0.0"]
    assert ["N0", "gateway", "Pocket", "Show", "0", "B0", "Costume", "false", "hold", "1.0", *power, ""] in rows
    labels = [row[0] for row in rows[1:]]
    assert labels == sorted(labels)


def test_new_changed_and_same_lines(caller: Caller, tour: Tour) -> None:
    version = Node.objects.get(label="N1").version
    report = read(
        caller,
        tour,
        HEADER,
        "N0,gateway,Pocket,Show,0,B0,Costume,false,hold,1,",
        "N1,relay,Pocket,Show,77,B1,,TRUE,fade-out,2.5,on the truss",
        "N99,receiver,Pocket,,,,,,,,",
    )
    assert [(row.line, row.label, row.action) for row in report.rows] == [(3, "N1", "update"), (4, "N99", "create")]
    without_signal = ("on_signal_loss", "signal_lost_after_s")
    assert report.rows[0].fields == ("short_address", "crew", "is_worn", *without_signal, "note")
    assert report.unchanged == 1
    changed = Node.objects.get(label="N1")
    assert (changed.short_address, changed.crew, changed.is_worn, changed.note) == (77, None, True, "on the truss")
    assert (changed.on_signal_loss, changed.signal_lost_after_s) == ("fade-out", 2.5)
    assert changed.version == version + 1
    assert report.revision == tour.project.revision
    assert {change.record_name for change in Change.objects.filter(revision=report.revision)} == {"N1", "N99"}


def test_absent_columns_are_kept_and_semicolons_are_read(caller: Caller, tour: Tour) -> None:
    before = Node.objects.get(label="N2")
    report = read(caller, tour, "label;note", 'N2;"two; lines\nof it"')
    after = Node.objects.get(label="N2")
    assert after.note == "two; lines\nof it"
    assert (after.supply_id, after.short_address) == (before.supply_id, before.short_address)
    assert report.rows[0].fields == ("note",)


def test_a_dry_run_says_the_same_and_writes_nothing(caller: Caller, tour: Tour) -> None:
    lines = ("label,role,node_type,note", "N0,gateway,Pocket,new", "N98,relay,Pocket,")
    before, revision = Change.objects.count(), tour.project.revision
    tried = read(caller, tour, *lines, dry_run=True)
    assert Change.objects.count() == before
    assert not Node.objects.filter(label="N98").exists()
    assert tour.project.revision == revision
    done = read(caller, tour, *lines)
    assert tried.rows == done.rows
    assert (tried.dry_run, done.dry_run) == (True, False)


@pytest.mark.parametrize("note", ["=1+1", "+49", "-x", "@home", "'=1+1", "''", "'quoted'", "\t=1", "plain", "a=b"])
def test_a_text_is_never_a_formula_and_comes_back_the_same(caller: Caller, tour: Tour, owner: User, note: str) -> None:
    node = Node.objects.select_related("project").get(label="N0")
    with edit(tour.project, by(owner)) as change:
        change.update(node, {"note": note})
    text = table_of(NODES, tour.project)
    [row] = [row for row in csv.DictReader(io.StringIO(text, newline="")) if row["label"] == "N0"]
    assert row["note"][0] not in "=+-@\t\r"
    assert import_table(caller, NODES, tour.project, text).rows == ()


def test_labels_that_look_like_formulas_are_found_again(caller: Caller, tour: Tour) -> None:
    read(caller, tour, "label,role,node_type", "-N1,relay,Pocket")
    text = table_of(NODES, tour.project)
    assert "'-N1" in text
    assert import_table(caller, NODES, tour.project, text).rows == ()


def test_negative_numbers_are_numbers(caller: Caller, tour: Tour) -> None:
    told = faults(caller, tour, "label,rated_v", "N2-1,-12", noun=LOADS)
    assert told == [(2, "rated_v", "must be from 1e-06 to 1000, not -12")]


@pytest.mark.parametrize(
    ("line", "column", "says"),
    [
        ("N0,gateway,Pocket,Show,zero,,,,,,", "short_address", "whole number"),
        ("N0,gateway,Pocket,Show,1.5,,,,,,", "short_address", "whole number"),
        ("N0,gateway,Pocket,Show,,,,,,,", "short_address", "needs a short address"),
        ("N0,boss,Pocket,Show,0,,,,,,", "role", "gateway, relay, receiver"),
        ("N0,,Pocket,Show,0,,,,,,", "role", "must not be empty"),
        ("N0,gateway,Purse,Show,0,,,,,,", "node_type", "there is no node type 'Purse'"),
        ("N0,gateway,Pocket,Show,0,,,yes,,,", "is_worn", "true or false"),
        ("N0,gateway,Pocket,Show,0,,,false,blink,,", "on_signal_loss", "hold, fade-out, switch-off"),
        ("N0,gateway,Pocket,Show,0,,,false,hold,0,", "signal_lost_after_s", "must be from"),
        ("N0,gateway,Pocket,Show,0,,,false,,,a\x00b", "note", "character"),
        (",gateway,Pocket,Show,0,,,,,,", "label", "must not be empty"),
        (f"{'x' * 81},gateway,Pocket,,,,,,,,", "label", "80"),
        ("N0,gateway,Pocket,Show,1,,,,,,", "short_address", "taken"),
        ("New,gateway,Pocket,Show,1,,,,,,", "short_address", "taken"),
        ("N0,gateway", "", "has 2 cells, the header has 11"),
        ('N0,"gate"way,Pocket,Show,0,,,,,,', "", "quotes"),
    ],
)
def test_a_fault_is_told_with_line_and_column(caller: Caller, tour: Tour, line: str, column: str, says: str) -> None:
    [told] = faults(caller, tour, HEADER, "N2,receiver,Pocket,Show,2,B2,Costume,false,,,", line)
    assert told[:2] == (3, column)
    assert says in told[2]


def test_a_decimal_comma_is_refused_with_what_to_write(caller: Caller, tour: Tour) -> None:
    told = faults(caller, tour, "label;rated_v;cable_length_m", "N2-1;12,5;1", "N2-2;12.5;,5", noun=LOADS)
    assert told == [
        (2, "rated_v", "write 12.5 with a decimal point, not 12,5"),
        (3, "cable_length_m", "write .5 with a decimal point, not ,5"),
    ]


@pytest.mark.parametrize(
    ("header", "told"),
    [
        ("label,colour", [(1, "colour", f"is no column here; known: {WHOLE_HEADER.replace(',', ', ')}")]),
        ("label,role,role", [(1, "role", "stands twice in the header")]),
        ("role,note", [(1, "label", "this column is missing: it says which record a line is about")]),
        ("label,", [(1, "", "a column has no name")]),
    ],
)
def test_wrong_headers(caller: Caller, tour: Tour, header: str, told: list[tuple[int, str, str]]) -> None:
    cells = ",".join("x" for _ in header.split(","))
    assert faults(caller, tour, header, cells) == told


def test_a_new_record_needs_its_columns(caller: Caller, tour: Tour) -> None:
    told = faults(caller, tour, "label,note", "N0,fine", "New,not enough")
    assert [(line, column) for line, column, _ in told] == [(3, "role"), (3, "node_type")]


def test_every_fault_of_every_line_at_once_and_repeated_labels(caller: Caller, tour: Tour) -> None:
    told = faults(caller, tour, "label,role,short_address", "N0,boss,x", "N1,relay,1", "N1,relay,1")
    assert [(line, column) for line, column, _ in told] == [(2, "role"), (2, "short_address"), (4, "label")]
    assert "line 3" in told[2][2]


def test_lines_are_counted_as_an_editor_counts_them(caller: Caller, tour: Tour) -> None:
    told = faults(caller, tour, "label,note,role", 'N0,"one\ntwo",gateway', "", ",,", "N1,,boss")
    assert [line for line, _, _ in told] == [6]


def test_what_is_no_table(caller: Caller, tour: Tour) -> None:
    assert "the table is empty" in faults(caller, tour, "")[0][2]
    assert faults(caller, tour, "label,note", b"N0,caf\xe9")[0][:2] == (2, "")
    assert "UTF-8" in faults(caller, tour, "label,note", b"N0,caf\xe9")[0][2]


def test_too_many_lines(caller: Caller, tour: Tour) -> None:
    lines = [f"Z{number},relay,Pocket" for number in range(5_001)]
    [(line, _, why)] = faults(caller, tour, "label,role,node_type", *lines)
    assert (line, why) == (5_002, "a table has at most 5000 lines: split it")


def test_broken_rules_of_new_and_changed_lines_are_told_together(caller: Caller, tour: Tour) -> None:
    told = faults(
        caller,
        tour,
        "label,kind,node,output,rated_v,rated_w,rated_a,length_m,cable_length_m,cable_area_mm2",
        "N2-1,tape,N2,9,12,7.2,,0.5,1,0.5",
        "New,tape,N3,3,12,7.2,1,0.5,1,0.5",
        noun=LOADS,
    )
    assert [(line, column) for line, column, _ in told] == [(2, "output"), (3, "rated_w")]


def test_loads_are_made_and_cleared(caller: Caller, tour: Tour) -> None:
    report = read(
        caller,
        tour,
        "label,kind,node,output,slot,rated_v,rated_w,rated_a,length_m,cable_length_m,cable_area_mm2",
        "Lamp 1,lamp,N2,3,12,12,,0.3,,0.8,0.25",
        "N2-1,lamp,N2,1,,12,7.2,,,1,0.5",
        noun=LOADS,
    )
    assert [row.action for row in report.rows] == ["create", "update"]
    assert Load.objects.get(label="Lamp 1").rated_a == 0.3
    assert Load.objects.get(label="N2-1").length_m is None


def test_only_editors_write(tour: Tour, viewer: User) -> None:
    with pytest.raises(NotAllowed, match="viewer"):
        read(Caller(viewer), tour, "label,note", "N0,mine")


def test_a_large_table_in_portions(caller: Caller, owner: User) -> None:
    project = a_project(owner, "Large")
    a_kit(project, owner, 700)
    text = table_of(NODES, project).replace("receiver", "relay")
    report = import_table(caller, NODES, project, text)
    assert report.count("update") == 700
    assert set(Node.objects.filter(project=project).values_list("role", flat=True)) == {"gateway", "relay"}


def test_queries_do_not_grow_with_the_lines(caller: Caller, tour: Tour) -> None:
    counts = []
    for number in (5, 10):
        lines = [f"Q{number}-{i},relay,Pocket,a" for i in range(number)]
        changed = [f"N{i},,Pocket,{number}" for i in range(2)]
        roles = ["gateway", "relay"]
        changed = [line.replace(",,", f",{role},", 1) for line, role in zip(changed, roles, strict=True)]
        with CaptureQueriesContext(connection) as captured:
            read(caller, tour, "label,role,node_type,note", *lines, *changed)
        counts.append(len(captured))
    assert counts[0] == counts[1]
