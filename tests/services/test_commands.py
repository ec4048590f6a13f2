"""The commands for projects, members, tokens and files: what they print and how they end."""

import io
import json
import os
from collections import namedtuple
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import override_settings
from django.utils import timezone

from showplan.records.guards import GUARDS, install
from showplan.records.models import Change, Crew, Membership, Project, Reading, User, Worker
from showplan.services.doctor import CHECKS, examine
from showplan.services.exchange import as_text, project_document, sha256_of, venue_document
from showplan.services.tokens import token_behind
from tests.conftest import Tour
from tests.tours import a_project

pytestmark = pytest.mark.django_db
Ended = namedtuple("Ended", "printed complaints code")


def run(*arguments: str) -> Ended:
    """Run a command as the command line does."""
    out, complaints = io.StringIO(), io.StringIO()
    try:
        call_command(*arguments, stdout=out, stderr=complaints, no_color=True)
    except SystemExit as leaving:
        return Ended(out.getvalue(), complaints.getvalue(), leaving.code)
    return Ended(out.getvalue(), complaints.getvalue(), 0)


def test_project_prints_its_identifier(owner: User) -> None:
    ended = run("project", "Lantern walk", "--owner", owner.username, "--note", "by hand")
    project = Project.objects.get(pk=ended.printed.strip())
    assert (project.name, project.note) == ("Lantern walk", "by hand")
    assert project.memberships.get().role == "owner"
    change = project.changes.get()
    assert (change.actor_name, change.via) == ("odile-owner", "command")


def test_project_refusals(owner: User) -> None:
    assert run("project", "Walk", "--owner", "nobody") == Ended(
        "", "there is no user 'nobody'; known: odile-owner\n", 1
    )
    ended = run("project", "", "--owner", owner.username)
    assert ended.code == 2
    assert ended.complaints.startswith("name: ")


def test_member_with_a_new_user_who_can_sign_in(owner: User) -> None:
    project = a_project(owner)
    Crew.objects.create(project=project, name="Costume")
    ended = run("member", project.name, "new-hand", "editor", "--crew", "Costume", "--create-user")
    assert ended.code == 0
    member = Membership.objects.select_related("user", "crew").get(user__username="new-hand")
    assert (member.role, member.crew and member.crew.name) == ("editor", "Costume")
    password = ended.printed.splitlines()[0].rpartition(" ")[2]
    assert member.user.check_password(password)
    assert Change.objects.latest("id").actor_name == "the command line"


def test_member_refusals_leave_no_user_behind(owner: User) -> None:
    project = a_project(owner)
    assert run("member", project.name, "stranger", "viewer").code == 1
    ended = run("member", project.name, "stranger", "viewer", "--create-user", "--crew", "Nobody's")
    assert (ended.code, User.objects.filter(username="stranger").exists()) == (1, False)
    ended = run("member", project.name, owner.username, "viewer")
    assert ended.code == 2
    assert "already there" in ended.complaints
    ended = run("member", project.name, "no spaces", "viewer", "--create-user")
    assert (ended.code, ended.complaints[:9]) == (2, "username:")
    with pytest.raises(CommandError, match="invalid choice"):
        run("member", project.name, "x", "boss")


def test_token_prints_nothing_but_the_token(owner: User) -> None:
    project = a_project(owner)
    ended = run("token", owner.username, "--name", "nightly", "--scope", "read", "--scope", "compute", "--days", "3",
                "--project", project.name)  # fmt: skip
    token = token_behind(ended.printed.strip())
    assert token is not None
    assert (token.scopes, token.project_id, token.name) == (("read", "compute"), project.pk, "nightly")
    assert timedelta(days=2) < token.expires_at - timezone.now() <= timedelta(days=3)


def test_token_refusals(owner: User, outsider: User) -> None:
    project = a_project(owner)
    assert run("token", owner.username, "--name", "x", "--scope", "read", "--days", "9999").code == 2
    ended = run("token", outsider.username, "--name", "x", "--scope", "read", "--project", str(project.pk))
    assert (ended.code, ended.complaints[:8]) == (2, "project:")


def test_export_and_import_of_a_project(tour: Tour, tmp_path: Path) -> None:
    path = tmp_path / "tour.json"
    ended = run("export", tour.project.name, "-o", str(path))
    document = project_document(tour.project)
    assert path.read_text(encoding="utf-8") == as_text(document)
    assert ended == Ended("", f"sha256 {sha256_of(document)}\n", 0)
    assert run("export", str(tour.project.pk)).printed == as_text(document)
    made = run("import", str(path), "--owner", "odile-owner", "--name", "Copy")
    copy = Project.objects.get(pk=made.printed.strip())
    assert copy.name == "Copy"
    assert copy.changes.latest("id").via == "command"


def test_export_and_import_of_a_venue(tour: Tour, tmp_path: Path) -> None:
    path = tmp_path / "venue.json"
    run("export", tour.project.name, "--venue", tour.venue.name, "-o", str(path))
    assert json.loads(path.read_text(encoding="utf-8")) == venue_document(tour.venue)
    taken = run("import", str(path), "--project", tour.project.name)
    assert taken.code == 2
    assert taken.complaints.startswith(f"{path}: /venue/name: ")
    assert run("import", str(path), "--project", tour.project.name, "--name", "Barn").code == 0
    assert tour.project.venues.filter(name="Barn").exists()
    wrong = run("import", str(path), "--owner", "odile-owner")
    assert (wrong.code, "import it into a project" in wrong.complaints) == (2, True)


def test_import_names_each_fault_on_a_line_of_its_own(tour: Tour, tmp_path: Path) -> None:
    path = tmp_path / "tour.json"
    document = project_document(tour.project)
    document["nodes"][0]["role"] = "boss"
    document["nodes"][1]["colour"] = "red"
    path.write_text(as_text(document), encoding="utf-8")
    ended = run("import", str(path), "--owner", "odile-owner")
    assert ended.code == 2
    assert [line.split(": ")[1] for line in ended.complaints.splitlines()] == ["/nodes/0/role", "/nodes/1/colour"]


def test_files_and_names_that_are_not_there(tour: Tour, tmp_path: Path) -> None:
    nowhere = str(tmp_path / "none" / "file.json")
    assert run("import", nowhere, "--owner", "odile-owner").code == 2
    assert run("export", tour.project.name, "-o", nowhere).code == 2
    assert run("export", "Nothing").code == 1
    ended = run("export", tour.project.name, "--venue", "Nowhere")
    assert (ended.code, "known: 'Corn hall'" in ended.complaints) == (1, True)


def test_tables_go_out_and_in(tour: Tour, tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    there = ("--project", tour.project.name, "--venue", tour.venue.name, "--table", "readings")
    row = "N3,N0,Pocket,-60,2026-03-01T10:00:00Z,Bea"
    path.write_text(f"at_node,transmitter,receiver_type,received_dbm,taken_at,taken_by\n{row}\n", encoding="utf-8")
    tried = run("import", str(path), *there, "--dry-run")
    assert tried == Ended("nothing is written; it would be: 1 new, 0 changed, 0 the same\n", "", 0)
    assert run("import", str(path), *there).printed == "1 new, 0 changed, 0 the same\n"
    assert Reading.objects.get().taken_by == "Bea"
    assert Change.objects.latest("id").actor_name == "the command line"
    out = tmp_path / "out.csv"
    assert run("export", tour.project.name, *there[2:], "-o", str(out)) == Ended("", "", 0)
    assert run("import", str(out), *there).printed == "0 new, 0 changed, 1 the same\n"
    for kind in ("nodes", "loads"):
        assert run("export", tour.project.name, "--table", kind, "-o", str(out)).code == 0
        same = run("import", str(out), "--project", tour.project.name, "--table", kind)
        assert same.printed.startswith("0 new, 0 changed, ")


def test_a_wrong_table_names_line_and_column(tour: Tour, tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    path.write_text("at_node,transmitter,receiver_type,received_dbm,taken_at\nN3,N0,Pocket,-60,noon\n")
    there = ("--project", tour.project.name, "--venue", tour.venue.name, "--table", "readings")
    ended = run("import", str(path), *there)
    assert ended.code == 2
    assert ended.complaints.startswith(f"{path}: line 2, taken_at: must be a time with its offset")
    assert run("import", str(path), *there[:2], "--venue", "Nowhere", *there[4:]).code == 1
    for wrong in (
        there[:2] + there[4:],
        (*there[:4], "--table", "nodes"),
        there[:4],
        (*there, "--name", "x"),
        ("--owner", "x", *there[2:]),
    ):
        with pytest.raises(CommandError):
            run("import", str(path), *wrong)
    with pytest.raises(CommandError):
        run("export", tour.project.name, "--table", "readings")


@pytest.fixture
def installation(tmp_path: Path):
    """A data folder in which everything that is a file is as it should be."""
    (tmp_path / "static").mkdir()
    (tmp_path / "static" / "staticfiles.json").write_text("{}")
    hosts = ["127.0.0.1", "localhost"]
    with override_settings(
        DATA_DIR=tmp_path, STATIC_ROOT=tmp_path / "static", DEBUG=False, SECRET_KEY="k3y" * 20, ALLOWED_HOSTS=hosts
    ):
        yield tmp_path


def state_of(check: str) -> str:
    """The state of one check."""
    return next(one.state for one in examine() if one.check == check)


def test_doctor_finds_a_good_installation_fit(installation: Path, tour: Tour) -> None:
    Worker.objects.create(name="here 1", heartbeat=timezone.now())
    with override_settings(SECRET_KEY="abcdefghij" * 6):
        ended = run("doctor")
        assert ended.code == 0, ended.printed
        assert [line[6:].partition(":")[0] for line in ended.printed.splitlines()] == list(CHECKS)
        told = json.loads(run("doctor", "--json").printed)
    assert {one["state"] for one in told} == {"ok"}
    assert set(told[0]) == {"check", "state", "found", "hint"}


@pytest.mark.parametrize(
    ("changes", "check", "state"),
    [
        ({"SECRET_KEY": "short"}, "secret key", "fail"),
        ({"DEBUG": True}, "debug", "warn"),
        ({"DEBUG": True, "ALLOWED_HOSTS": ["plan.example.org"]}, "debug", "fail"),
        ({"DEBUG": True}, "static files", "ok"),
        ({"ALLOWED_HOSTS": ["*"]}, "allowed hosts", "fail"),
        ({"ALLOWED_HOSTS": []}, "allowed hosts", "fail"),
        ({"ALLOWED_HOSTS": ["plan.example.org"]}, "allowed hosts", "warn"),
        (
            {"ALLOWED_HOSTS": ["plan.example.org"], "CSRF_TRUSTED_ORIGINS": ["https://plan.example.org"]},
            "allowed hosts",
            "ok",
        ),
    ],
)
def test_doctor_on_settings(installation: Path, changes: dict[str, object], check: str, state: str) -> None:
    with override_settings(**changes):
        assert state_of(check) == state


def test_doctor_on_folders(installation: Path) -> None:
    (installation / "static" / "staticfiles.json").unlink()
    assert state_of("static files") == "fail"
    with override_settings(DATA_DIR=installation / "gone"):
        assert state_of("data folder") == "fail"
        assert state_of("disk") == "fail"
    ended = run("doctor")
    assert ended.code == 1
    assert "run manage.py collectstatic" in ended.printed


def test_doctor_sees_a_readable_key_file(installation: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SHOWPLAN_SECRET_KEY", raising=False)
    key = installation / "secret-key"
    key.write_text("x")
    with override_settings(SECRET_KEY="abcdefghij" * 6):
        os.chmod(key, 0o644)
        assert state_of("secret key") == "warn"
        os.chmod(key, 0o600)
        assert state_of("secret key") == "ok"


def test_doctor_sees_a_missing_guard(installation: Path) -> None:
    guard = GUARDS[0]
    sqlite = settings.DATABASES["default"]["ENGINE"].endswith("sqlite3")
    assert state_of("guards") == "ok"
    with connection.cursor() as cursor:
        cursor.execute(
            f"DROP TRIGGER guard_{guard.name}_insert" if sqlite else f"DROP TRIGGER guard_{guard.name} ON {guard.table}"
        )
    [told] = [one for one in examine() if one.check == "guards"]
    assert (told.state, guard.name in told.found) == ("fail", True)
    install("default")
    assert state_of("guards") == "ok"


def test_doctor_sees_a_clock_that_runs_behind(installation: Path, tour: Tour) -> None:
    Change.objects.filter(pk=Change.objects.latest("id").pk).update(at=timezone.now() + timedelta(hours=1))
    assert state_of("clock") == "fail"
