"""Files out and in by page: what goes out comes in again, and what cannot come in says why."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from showplan.records.models import Node, Project, Reading
from showplan.services.exchange import as_text, project_document, venue_document
from tests.tours import a_project, a_venue

pytestmark = pytest.mark.django_db


@pytest.fixture
def page(client, editor, tour):
    client.force_login(editor)
    return reverse("files", args=[tour.project.pk])


def a_file(text: str, name: str = "x.json") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, text.encode())


def test_everything_offered_can_be_taken_out(client, page, tour) -> None:
    shown = client.get(page).content.decode()
    for name, keys in (
        ("project-file", [tour.project.pk]),
        ("venue-file", [tour.venue.pk]),
        ("table-file", [tour.project.pk, "nodes"]),
        ("table-file", [tour.project.pk, "loads"]),
        ("readings-file", [tour.venue.pk]),
    ):
        address = reverse(name, args=keys)
        assert address in shown
        answer = client.get(address)
        assert answer.status_code == 200
        assert answer["Content-Disposition"].startswith("attachment")
    assert json.loads(client.get(reverse("project-file", args=[tour.project.pk])).content) == project_document(
        tour.project
    )


def test_a_project_comes_in_again_under_another_name(client, page, tour) -> None:
    upload = {"file": a_file(as_text(project_document(tour.project))), "name": "Second night"}
    answer = client.post(reverse("project-read"), upload, follow=True)
    assert "Second night was read in as a new project" in answer.content.decode()
    assert Project.objects.get(name="Second night").venues.count() == 1


def test_a_venue_comes_in_under_another_name(client, page, tour) -> None:
    upload = {"venue-file": a_file(as_text(venue_document(tour.venue))), "venue-name": "Barn", "read-venue": "1"}
    assert "Venue Barn was read in" in client.post(page, upload, follow=True).content.decode()
    assert tour.project.venues.filter(name="Barn").exists()


def test_a_table_is_tried_and_then_written(client, page, tour) -> None:
    text = "label,role,node_type\nN90,receiver,Pocket\n"
    upload = {"table-kind": "nodes", "read-table": "1"}
    tried = client.post(page, upload | {"table-file": a_file(text, "n.csv"), "table-dry_run": "on"})
    assert "Nothing is written yet. The table of nodes would give: 1 new" in tried.content.decode()
    assert not Node.objects.filter(label="N90").exists()
    told = client.post(page, upload | {"table-file": a_file(text, "n.csv")}, follow=True)
    assert "was read in: 1 new, 0 changed" in told.content.decode()
    assert Node.objects.filter(label="N90").exists()


def test_readings_are_tried_and_then_written(client, page, tour) -> None:
    text = "at_node,transmitter,receiver_type,received_dbm,taken_at\nN3,N0,Pocket,-60,2026-03-01T10:00:00Z\n"
    upload = {"readings-venue": str(tour.venue.pk), "read-readings": "1"}
    tried = client.post(page, upload | {"readings-file": a_file(text, "r.csv"), "readings-dry_run": "on"})
    assert "The table of readings in Corn hall would give: 1 new" in tried.content.decode()
    assert not Reading.objects.exists()
    told = client.post(page, upload | {"readings-file": a_file(text, "r.csv")}, follow=True)
    assert "was read in: 1 new, 0 changed, 0 the same" in told.content.decode()
    told = client.post(page, upload | {"readings-file": a_file(text, "r.csv")}, follow=True)
    assert "was read in: 0 new, 0 changed, 1 the same" in told.content.decode()
    wrong = client.post(page, upload | {"readings-file": a_file(text.replace("-60", "NaN"), "r.csv")})
    assert wrong.status_code == 409
    assert "line 2, received_dbm: must be a number" in wrong.content.decode()
    assert Reading.objects.count() == 1


def test_readings_need_a_venue_of_this_project(client, page, owner) -> None:
    elsewhere = a_venue(a_project(owner, "Elsewhere"), owner)
    upload = {"readings-venue": str(elsewhere.pk), "read-readings": "1", "readings-file": a_file("x", "r.csv")}
    assert "valid choice" in client.post(page, upload).content.decode()


@pytest.mark.parametrize(
    ("upload", "words"),
    [
        ({"read-venue": "1", "venue-file": "{"}, "Nothing was read in"),
        ({"read-venue": "1", "venue-file": "{}"}, "Nothing was read in"),
        ({"read-table": "1", "table-kind": "nodes", "table-file": "label,colour\nN2,red\n"}, "colour"),
        ({"read-table": "1", "table-kind": "nodes"}, "required"),
        ({"read-table": "1", "table-kind": "walls", "table-file": "x"}, "valid choice"),
    ],
)
def test_what_cannot_be_read_says_why(client, page, tour, upload, words) -> None:
    before = tour.project.changes.count()
    sent = {key: a_file(value) if key.endswith("-file") else value for key, value in upload.items()}
    assert words in client.post(page, sent).content.decode()
    assert tour.project.changes.count() == before


def test_a_broken_project_file_says_where(client, page) -> None:
    answer = client.post(reverse("project-read"), {"file": a_file('{"format": "showplan-project"}')})
    assert "/" in answer.content.decode()
    assert answer.status_code == 409


def test_viewers_take_out_and_do_not_read_in(client, viewer, tour) -> None:
    client.force_login(viewer)
    address = reverse("files", args=[tour.project.pk])
    assert "Read in a table" not in client.get(address).content.decode()
    assert client.post(address, {"read-table": "1"}).status_code == 403
