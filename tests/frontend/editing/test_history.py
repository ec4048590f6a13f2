"""The history of a project and of a record, and taking a revision back."""

import pytest
from django.test import Client

from showplan.records.models import Network, Wall
from showplan.services.history_reading import REVISIONS
from tests.frontend.editing.desk import fill_in, forged, lists_of, send
from tests.frontend.pages import signed_in, words_of
from tests.tours import a_venue

pytestmark = pytest.mark.django_db


@pytest.fixture
def changed(tour, editor):
    """The editor's client, a wall they changed, and the revision that did it."""
    client, wall = signed_in(editor), Wall.objects.get(label="W1")
    fill_in(client, f"{lists_of(tour)['walls']}{wall.pk}/", height_m="2", material="glass-6")
    tour.project.refresh_from_db()
    return client, wall, tour.project.revision


def test_a_record_says_who_changed_what(tour, changed):
    client, wall, revision = changed
    words = words_of(client.get(f"{lists_of(tour)['walls']}{wall.pk}/history/"))
    assert f"Updated revision {revision}" in words
    assert "edgar-editor, on the page" in words
    assert "Height of the wall (m) 4 became → 2" in words
    assert "glass 6 mm" in words
    assert "Created revision" in words


def test_a_revision_is_undone_and_undone_again(tour, changed):
    client, wall, revision = changed
    address = f"/projects/{tour.project.pk}/history/{revision}/undo/"
    assert "Height of the wall (m) 4 became → 2" in words_of(client.get(address))
    assert fill_in(client, address).url == f"/projects/{tour.project.pk}/history/"
    wall.refresh_from_db()
    assert (wall.height_m, wall.material) == (4.0, "brick-200")
    assert f"Revision {revision} is undone." in words_of(client.get(f"/projects/{tour.project.pk}/history/"))
    fill_in(client, f"/projects/{tour.project.pk}/history/{revision + 1}/undo/")
    wall.refresh_from_db()
    assert wall.height_m == 2.0


def test_a_deleted_record_comes_back(tour, changed):
    client, wall, revision = changed
    fill_in(client, f"{lists_of(tour)['walls']}{wall.pk}/delete/")
    fill_in(client, f"/projects/{tour.project.pk}/history/{revision + 1}/undo/")
    assert Wall.objects.get(label="W1").pk == wall.pk


def test_what_was_changed_again_is_not_undone_and_says_why(tour, changed):
    client, wall, revision = changed
    address = f"/projects/{tour.project.pk}/history/{revision}/undo/"
    opened = client.get(address)
    fill_in(client, f"{lists_of(tour)['walls']}{wall.pk}/", height_m="3")
    page = send(client, opened, address)
    assert page.status_code == 409
    assert "Nothing was undone. Wall 'W1' was changed again since" in words_of(page)
    wall.refresh_from_db()
    assert wall.height_m == 3.0


def test_the_history_is_paged_and_narrowed_by_venue(tour, owner, editor):
    client, here = signed_in(editor), f"/projects/{tour.project.pk}/"
    network = Network.objects.get(project=tour.project, name="Reserve")
    for pan in range(100, 100 + REVISIONS):
        fill_in(client, f"{here}records/networks/{network.pk}/", pan_id=str(pan))
    other = a_venue(tour.project, owner, "Town barn")
    page = client.get(f"{here}history/")
    assert len(page.context["revisions"]) == REVISIONS
    assert "Town barn" in words_of(page)
    older = client.get(f"{here}history/", {"below": page.context["more"]})
    assert older.context["revisions"][0]["number"] == page.context["more"] - 1
    of_venue = client.get(f"{here}history/", {"venue": str(other.pk)})
    assert [one["number"] for one in of_venue.context["revisions"]] == [page.context["revisions"][0]["number"]]
    assert client.get(f"{here}history/", {"venue": "nonsense"}).status_code == 404


def test_a_large_revision_is_shortened(tour, editor):
    page = signed_in(editor).get(f"/projects/{tour.project.pk}/history/", {"below": "5"})
    counts = {one["count"]: len(one["changes"]) for one in page.context["revisions"]}
    assert max(counts) > 12
    assert max(counts.values()) == 12
    assert f"and {max(counts) - 12} more" in words_of(page)


def test_who_may_look_and_who_may_undo(tour, changed, viewer, outsider):
    _, wall, revision = changed
    here = f"/projects/{tour.project.pk}/history/"
    undo = f"{here}{revision}/undo/"
    watching, outside = signed_in(viewer), signed_in(outsider)
    page = watching.get(here)
    assert page.status_code == 200
    assert "Undo" not in words_of(page)
    for answer in (watching.get(undo), forged(watching, undo)):
        assert answer.status_code == 403
        assert "this needs the role owner or editor" in words_of(answer)
    for answer in (outside.get(here), outside.get(undo), forged(outside, undo)):
        assert answer.status_code == 404
    assert Client().get(undo).url == f"/sign-in/?next={undo}"
    wall.refresh_from_db()
    assert wall.height_m == 2.0


def test_what_members_did_is_undone_by_owners_only(tour, owner, editor, viewer):
    member = tour.project.memberships.get(user=viewer)
    fill_in(signed_in(owner), f"/projects/{tour.project.pk}/members/{member.pk}/", role="editor")
    tour.project.refresh_from_db()
    undo = f"/projects/{tour.project.pk}/history/{tour.project.revision}/undo/"
    assert forged(signed_in(editor), undo).status_code == 403
    assert fill_in(signed_in(owner), undo).status_code == 302
    member.refresh_from_db()
    assert member.role == "viewer"


def test_an_unknown_revision_is_not_there(tour, editor):
    answer = signed_in(editor).get(f"/projects/{tour.project.pk}/history/9999/undo/")
    assert answer.status_code == 404
    assert "There is no revision 9999" in words_of(answer)
