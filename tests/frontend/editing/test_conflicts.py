"""Two people change one record: nobody's words are lost, nothing is merged in silence."""

import pytest

from showplan.records.models import Wall
from tests.frontend.editing.desk import fill_in, lists_of, send
from tests.frontend.pages import signed_in, words_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def wall(tour) -> Wall:
    return Wall.objects.get(label="W1")


@pytest.fixture
def address(tour, wall) -> str:
    return f"{lists_of(tour)['walls']}{wall.pk}/"


@pytest.fixture
def conflict(tour, owner, editor, address):
    """The editor's client and the page they meet: the owner was faster."""
    client = signed_in(editor)
    opened = client.get(address)
    assert fill_in(signed_in(owner), address, height_m="2", material="glass-6").status_code == 302
    return client, send(client, opened, address, height_m="5", label="West wall")


def test_the_page_shows_start_theirs_and_yours(conflict, wall):
    page = conflict[1]
    assert page.status_code == 409
    words = words_of(page)
    assert "Somebody changed wall W1 meanwhile" in words
    assert "odile-owner saved it on the page" in words
    assert "Height of the wall (m) 4 2 5" in words
    assert "Label W1 W1 West wall" in words
    rows = {row["label"] for row in page.context["rows"]}
    assert rows == {"Height of the wall (m)", "Label", "Material"}
    wall.refresh_from_db()
    assert (wall.height_m, wall.label, wall.version) == (2.0, "W1", 2)


def test_keep_mine_writes_my_column_on_the_new_version(conflict, wall, address):
    client, page = conflict
    answer = send(client, page, address)
    assert answer.status_code == 302
    wall.refresh_from_db()
    assert (wall.height_m, wall.label, wall.material, wall.version) == (5.0, "West wall", "brick-200", 3)


def test_keep_mine_meets_a_third_writer_too(conflict, wall, address, owner):
    client, page = conflict
    fill_in(signed_in(owner), address, height_m="1")
    answer = send(client, page, address)
    assert answer.status_code == 409
    assert "Height of the wall (m) 2 1 5" in words_of(answer)


def test_keep_theirs_opens_the_form_as_it_is_now(conflict, wall, address):
    client, _ = conflict
    page = client.get(address)
    assert 'value="2"' in page.content.decode()
    wall.refresh_from_db()
    assert wall.version == 2


def test_the_same_change_twice_is_no_conflict(tour, owner, editor, address, wall):
    client = signed_in(editor)
    opened = client.get(address)
    fill_in(signed_in(owner), address, height_m="2")
    assert send(client, opened, address, height_m="2").status_code == 302
    wall.refresh_from_db()
    assert wall.version == 2


def test_a_form_without_a_version_is_never_the_newest(tour, editor, address, wall):
    client = signed_in(editor)
    answer = fill_in(client, address, version=None, height_m="5")
    assert answer.status_code == 409
    wall.refresh_from_db()
    assert wall.height_m == 4.0


def test_a_project_and_a_member_ask_too(tour, owner, viewer):
    client = signed_in(owner)
    member = tour.project.memberships.get(user=viewer)
    for address, first, second in (
        (f"/projects/{tour.project.pk}/change/", {"note": "one"}, {"note": "two"}),
        (f"/projects/{tour.project.pk}/members/{member.pk}/", {"role": "owner"}, {"role": "editor"}),
    ):
        opened = client.get(address)
        assert fill_in(client, address, **first).status_code == 302, address
        page = send(client, opened, address, **second)
        assert page.status_code == 409, address
        assert send(client, page, address).status_code == 302, address
    tour.project.refresh_from_db()
    member.refresh_from_db()
    assert (tour.project.note, member.role) == ("two", "editor")
