"""`manage.py relays`: the wishes from options and files, the answer in words and JSON, and putting it in place.

The search itself is tested with the planner; here an answer made by hand takes its place.
"""

import json
import signal
from dataclasses import replace
from pathlib import Path

import pytest

from showplan.management.commands import relays
from showplan.planner.relays.answer import MostServed, Reason, RelayAnswer
from showplan.planner.relays.from_scene import relay_task
from showplan.planner.relays.report import answer_values
from showplan.records.models import Change, Level, Placement, User, Venue
from showplan.services.editing import edit
from tests.relay_jobs import add_sites, answer
from tests.services.test_commands import run
from tests.tours import a_tour, a_user, by

pytestmark = pytest.mark.django_db
ASKED = ("--network", "Show", "--relay-type", "Pocket", "--least-delivery", "0.5")


@pytest.fixture
def owner() -> User:
    return a_user()


@pytest.fixture
def venue(owner: User) -> Venue:
    venue = Venue.objects.select_related("project").get(pk=a_tour(owner).pk)
    add_sites(venue, owner)
    return venue


@pytest.fixture
def asked(venue: Venue, monkeypatch: pytest.MonkeyPatch) -> list:
    """The wishes that reached the search, which finds the left truss, and the right one as well."""
    heard: list = []

    def compute(scene, wishes, watch):
        heard.append(wishes)
        watch.progress(0.1, "searching")
        watch.progress(0.5, "searching", best=2.0, bound=1.0)
        return answer(venue, ["Left truss"], ["Right truss"])

    _compute_by(monkeypatch, compute)
    return heard


def _compute_by(monkeypatch: pytest.MonkeyPatch, compute) -> None:
    monkeypatch.setattr(relays, "KIND", replace(relays.KIND, compute=compute))


def test_the_answer_in_words_with_progress_beside_it(venue: Venue, asked: list) -> None:
    ended = run("relays", venue.name, *ASKED)
    assert ended.code == 0
    assert ended.printed.startswith("1 relay for network Show: no smaller set of relays will do.\nSites: Left truss.\n")
    assert "  1: Left truss; cost 1, worst delivery" in ended.printed
    assert "  2: Right truss; cost 2, worst delivery" in ended.printed
    assert "  with 2 relays allowed: worst delivery" in ended.printed
    assert ended.complaints == "10 % searching\n50 % searching, best so far 2, no answer can beat 1\n"
    assert not Change.objects.filter(via="command").exists()


def test_options_are_wishes_and_go_before_the_file(venue: Venue, asked: list, tmp_path: Path) -> None:
    file = tmp_path / "wishes.json"
    file.write_text(json.dumps({"network": "Show", "relay_type": "Pocket", "most_hops": 2, "extra_margin_db": 3.0}))
    options = ["--hops", "3", "--routes", "2", "--most-relays", "4", "--needs-mains", "--must", "Left truss"]
    options += ["--never", "Right truss", "--grid", "Hall", "8", "2.5", "--edges", "Hall", "9", "3", "--seconds", "7"]
    assert run("relays", str(venue.pk), "--wishes", str(file), *options, "--two-routes-for", "N2").code == 0
    [wishes] = asked
    assert (wishes.most_hops, wishes.routes, wishes.most_relays, wishes.extra_margin_db) == (3, 2, 4, 3.0)
    assert (wishes.needs_mains, wishes.must, wishes.never) == (True, ("Left truss",), ("Right truss",))
    assert (wishes.grids[0].step_m, wishes.edges[0].height_m, wishes.seconds) == (8.0, 3.0, 7.0)
    assert wishes.two_routes_for == ("N2",)


def test_demands_of_the_file_are_told_with_the_answer(venue: Venue, asked: list, tmp_path: Path) -> None:
    file = tmp_path / "wishes.json"
    file.write_text(json.dumps({"demands": [{"name": "N2", "least_delivery": 0.99, "extra_margin_db": 6}]}))
    printed = run("relays", venue.name, "--wishes", str(file), *ASKED).printed
    assert "\nEvery hop to N2 must deliver at least 99 % and keep the fade margin and 6 dB more.\n" in printed
    assert "\nEvery hop to all other nodes must deliver at least 50 % and keep the fade margin.\n" in printed


def test_the_whole_answer_as_json(venue: Venue, asked: list) -> None:
    found = json.loads(run("relays", venue.name, *ASKED, "--json").printed)
    assert [[relay["site"] for relay in one["relays"]] for one in found["placements"]] == [
        ["Left truss"],
        ["Right truss"],
    ]


def test_applying_writes_one_revision_as_the_command_line(venue: Venue, asked: list) -> None:
    ended = run("relays", venue.name, *ASKED, "--apply", "2")
    venue.project.refresh_from_db()
    assert ended.complaints.splitlines()[-1] == f"revision {venue.project.revision}: moved: N1"
    assert Placement.objects.get(node__label="N1").x_m == 24.0
    change = Change.objects.get(project=venue.project, revision=venue.project.revision)
    assert (change.actor_name, change.via) == ("the command line", "command")


def test_what_cannot_be_applied_is_said(venue: Venue, owner: User, asked: list, monkeypatch) -> None:
    ended = run("relays", venue.name, *ASKED, "--apply", "3")
    assert (ended.code, ended.complaints.splitlines()[-1]) == (
        2,
        "--apply: there is no placement 3; the answer has 2",
    )

    def edited_meanwhile(scene, wishes, watch):
        found = answer(venue, ["Left truss"])
        with edit(venue.project, by(owner)) as change:
            change.update(Level.objects.get(venue=venue), {"clear_height_m": 5.5})
        return found

    _compute_by(monkeypatch, edited_meanwhile)
    ended = run("relays", venue.name, *ASKED, "--apply", "1")
    assert (ended.code, "has changed since this was planned" in ended.complaints) == (1, True)
    assert Placement.objects.get(node__label="N1").x_m == 5.5


def test_no_placement_ends_with_code_1_and_its_reasons(venue: Venue, monkeypatch) -> None:
    def compute(scene, wishes, watch):
        reason = Reason("too-few-relays", "3 relays are needed, the truck holds 1", "most_relays", 3.0)
        task = relay_task(scene, wishes)
        most = MostServed(relays_allowed=1, sites=(0,), gateways=(0,), nodes=(1, 2), bound=3)
        answer = RelayAnswer("infeasible", None, 3.0, 0.0, reasons=(reason,), most_served=most)
        return answer_values(task, answer)

    _compute_by(monkeypatch, compute)
    ended = run("relays", venue.name, *ASKED, "--most-relays", "1", "--apply", "1")
    assert ended == (
        "3 relays are needed, the truck holds 1\n"
        "With 1 relay, 2 of 6 nodes can be served; more than 3 is ruled out.\n"
        "Relays at: Left truss.\n"
        "Left out: N2, N5, N6, N7.\n"
        "  most_relays: 3 would do\n",
        "",
        1,
    )


def test_an_interrupt_keeps_the_best_so_far(venue: Venue, monkeypatch) -> None:
    before = signal.getsignal(signal.SIGINT)

    def compute(scene, wishes, watch):
        assert not watch.is_cancelled()
        signal.raise_signal(signal.SIGINT)
        assert watch.is_cancelled()
        return answer(venue, ["Left truss"])

    _compute_by(monkeypatch, compute)
    assert run("relays", venue.name, *ASKED).printed.startswith("1 relay for network Show")
    assert signal.getsignal(signal.SIGINT) is before


def test_bad_wishes_are_refused_with_their_place(venue: Venue, asked: list, tmp_path: Path) -> None:
    ended = run("relays", venue.name, "--network", "Nobody's", "--relay-type", "Pocket", "--grid", "Cellar", "3", "2")
    assert ended.code == 2
    assert "network: there is no network" in ended.complaints
    assert "grids/0/level: there is no level 'Cellar' here" in ended.complaints
    assert run("relays", venue.name).complaints == "network: is missing\nrelay_type: is missing\n"
    assert (
        "needs a level, a step and a height" in run("relays", venue.name, *ASKED, "--grid", "Hall", "a", "b").complaints
    )
    assert run("relays", venue.name, *ASKED, "--make-missing").complaints == "--make-missing: goes with --apply\n"
    for text, words in (("[1]", "must hold one object"), ("{", "is not JSON")):
        file = tmp_path / "wishes.json"
        file.write_text(text)
        assert words in run("relays", venue.name, "--wishes", str(file)).complaints
    assert run("relays", venue.name, "--wishes", str(tmp_path / "none.json")).code == 2
    assert not asked
