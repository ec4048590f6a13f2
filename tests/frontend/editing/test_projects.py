"""Starting, renaming and deleting projects."""

import pytest

from showplan.records.models import Project
from tests.frontend.editing.desk import fill_in, forged, send
from tests.frontend.pages import signed_in, words_of

pytestmark = pytest.mark.django_db


def test_whoever_starts_a_project_owns_it(outsider):
    client = signed_in(outsider)
    assert "New project" in words_of(client.get("/"))
    answer = fill_in(client, "/projects/new/", name="Harbour play")
    project = Project.objects.get(name="Harbour play")
    assert answer.url == f"/projects/{project.pk}/"
    assert project.memberships.get().role == "owner"
    page = client.get(answer.url)
    assert "Project Harbour play is started." in words_of(page)
    assert "New venue" in words_of(page)


def test_a_project_needs_a_name(outsider):
    page = fill_in(signed_in(outsider), "/projects/new/", name=" ", note="keep this")
    assert "This is missing." in words_of(page)
    assert "keep this" in page.content.decode()
    assert not Project.objects.exists()


def test_the_owner_renames_it(tour, owner):
    client = signed_in(owner)
    answer = fill_in(client, f"/projects/{tour.project.pk}/change/", name="Lantern walk II", note="second year")
    assert answer.status_code == 302
    tour.project.refresh_from_db()
    assert (tour.project.name, tour.project.note) == ("Lantern walk II", "second year")


def test_deleting_takes_the_name_typed_again(tour, owner):
    client, address = signed_in(owner), f"/projects/{tour.project.pk}/delete/"
    page = fill_in(client, address, name="Lantern")
    assert "This is not the name of the project" in words_of(page)
    assert Project.objects.exists()
    assert send(client, page, address, name=tour.project.name).url == "/"
    assert not Project.objects.exists()


def test_deleting_what_was_changed_meanwhile_asks_again(tour, owner):
    client, address = signed_in(owner), f"/projects/{tour.project.pk}/delete/"
    opened = client.get(address)
    fill_in(client, f"/projects/{tour.project.pk}/change/", note="new")
    page = send(client, opened, address, name=tour.project.name)
    assert "changed meanwhile" in words_of(page)
    assert Project.objects.exists()
    assert send(client, page, address, name=tour.project.name).status_code == 302
    assert not Project.objects.exists()


@pytest.mark.parametrize("page", ["change", "delete"])
def test_only_owners_change_the_project_itself(tour, owner, editor, viewer, outsider, page):
    address = f"/projects/{tour.project.pk}/{page}/"
    assert signed_in(owner).get(address).status_code == 200
    for user, status in ((editor, 403), (viewer, 403), (outsider, 404)):
        client = signed_in(user)
        assert client.get(address).status_code == status
        answer = forged(client, address, name=tour.project.name, version="1")
        assert answer.status_code == status
        if status == 403:
            assert "this needs the role owner" in words_of(answer)
    tour.project.refresh_from_db()
    assert tour.project.version == 1


def test_a_stranger_is_asked_to_sign_in(tour, client):
    for address in ("/projects/new/", f"/projects/{tour.project.pk}/change/", f"/projects/{tour.project.pk}/delete/"):
        assert client.get(address).url == f"/sign-in/?next={address}"
