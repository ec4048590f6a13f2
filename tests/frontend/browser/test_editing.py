"""The editing pages in a real browser: sound at both sizes, and without JavaScript."""

import pytest

from showplan.records.models import Wall
from showplan.services.editing import edit
from showplan.services.nouns import NOUNS
from tests.conftest import PASSWORD
from tests.tours import by

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def visit(visit_with, size, owner):
    """A visit of the owner, signed in through the form."""
    made = visit_with(size)
    made.enter(owner)
    return made


def _pages(tour) -> dict[str, str]:
    project, venue = f"/projects/{tour.project.pk}", f"/venues/{tour.venue.pk}"
    wall = Wall.objects.get(label="W1")
    member = tour.project.memberships.get(role="viewer")
    pages = {
        "project-new": "/projects/new/",
        "project-read": "/projects/read-in/",
        "files": f"{project}/files/",
        "project-change": f"{project}/change/",
        "project-delete": f"{project}/delete/",
        "members": f"{project}/members/",
        "member-change": f"{project}/members/{member.pk}/",
        "member-remove": f"{project}/members/{member.pk}/remove/",
        "invitations": f"{project}/invitations/",
        "history": f"{project}/history/",
        "undo": f"{project}/history/2/undo/",
        "tokens": "/tokens/",
        "token-new": "/tokens/new/",
        "wall": f"{venue}/records/walls/{wall.pk}/",
        "wall-delete": f"{venue}/records/walls/{wall.pk}/delete/",
        "level-delete": f"{venue}/records/levels/{wall.level_id}/delete/",
        "wall-history": f"{venue}/records/walls/{wall.pk}/history/",
    }
    for noun in NOUNS:
        base = f"{venue if noun.parent == 'venue' else project}/records/{noun.path}/"
        pages |= {f"list-{noun.path}": base, f"new-{noun.path}": f"{base}new/"}
    return pages


def test_every_page_is_sound(visit, tour):
    for name, path in _pages(tour).items():
        visit.open(path)
        visit.picture(name)
        visit.refuse_faults(name)
        assert visit.box("h1")["height"] > 10, name


def test_a_dark_room_is_sound(visit_with, owner, tour):
    visit = visit_with("wide", color_scheme="dark")
    visit.enter(owner)
    pages = _pages(tour)
    for name in ("list-walls", "wall", "level-delete", "history", "invitations", "token-new"):
        visit.open(pages[name])
        visit.picture(f"dark-{name}")
        visit.refuse_faults(f"dark {name}")


def test_faults_and_secrets_are_sound(visit, tour):
    page = visit.page
    visit.open(f"/venues/{tour.venue.pk}/records/walls/new/")
    page.get_by_label("Label").fill("W9")
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_role("alert").wait_for()
    visit.picture("wall-faults")
    visit.refuse_faults("wall with faults")
    assert page.get_by_label("Label").input_value() == "W9"
    visit.open(f"/projects/{tour.project.pk}/invitations/")
    page.get_by_role("button", name="Make the link").click()
    link = page.get_by_label("The link").input_value()
    visit.picture("invitation-made")
    visit.refuse_faults("invitation made")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/")
    visit.open(link.removeprefix(visit.base))
    visit.picture("join")
    visit.refuse_faults("join")


def test_the_conflict_page_is_sound_and_keeps_mine(visit, tour):
    page, wall = visit.page, Wall.objects.get(label="W1")
    visit.open(f"/venues/{tour.venue.pk}/records/walls/{wall.pk}/")
    with edit(tour.project, by(tour.project.memberships.get(role="editor").user)) as change:
        change.update(wall, {"height_m": 2.0, "material": "glass-6"})
    page.get_by_label("Height of the wall").fill("5")
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_role("heading", name="Somebody changed wall W1 meanwhile").wait_for()
    visit.complaints = [text for text in visit.complaints if "409" not in text]  # the browser's own word for it
    visit.picture("conflict")
    visit.refuse_faults("conflict")
    page.get_by_role("button", name="Keep mine").click()
    page.get_by_text("Wall W1 is saved.").wait_for()
    wall.refresh_from_db()
    assert (wall.height_m, wall.version) == (5.0, 3)


def test_a_row_is_changed_and_deleted_in_its_place(visit, tour):
    page, address = visit.page, f"/venues/{tour.venue.pk}/records/walls/"
    visit.open(address)
    page.get_by_role("link", name="Change W1").click()
    heading = page.get_by_role("heading", name="Change wall W1")
    heading.wait_for()
    visit.picture("row-open")
    visit.refuse_faults("row open")
    visit.wait_for_focus("textContent", "Change wall W1")
    page.get_by_label("Height of the wall").fill("high")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Enter a number.").wait_for()
    page.get_by_label("Height of the wall").fill("2.5")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("cell", name="2.5").wait_for()
    page.get_by_role("link", name="Delete W2").click()
    page.get_by_role("heading", name="Delete wall W2?").wait_for()
    visit.refuse_faults("row to delete")
    page.get_by_role("button", name="Delete").click()
    page.get_by_role("heading", name="Delete wall W2?").wait_for(state="detached")
    assert page.url == visit.base + address
    assert list(Wall.objects.values_list("label", "height_m")) == [("W1", 2.5)]
    visit.refuse_faults("row deleted")


def test_everything_works_without_javascript(visit_with, owner, tour):
    visit = visit_with("narrow", java_script_enabled=False)
    page, wall = visit.page, Wall.objects.get(label="W1")
    visit.open("/sign-in/")
    page.get_by_label("Username").fill(owner.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(visit.base + "/")
    visit.open(f"/venues/{tour.venue.pk}/records/walls/")
    page.get_by_role("link", name="Change W1").click()
    page.get_by_label("Height of the wall").fill("2.5")
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_text("Wall W1 is saved.").wait_for()
    page.get_by_role("link", name="History of W1").click()
    page.get_by_role("link", name="Undo revision").first.click()
    page.get_by_role("button", name="Undo it").click()
    page.get_by_role("status").wait_for()
    wall.refresh_from_db()
    assert wall.height_m == 4.0
    visit.open(f"/venues/{tour.venue.pk}/records/walls/")
    page.get_by_role("link", name="Delete W1").click()
    page.get_by_role("button", name="Delete").click()
    page.get_by_text("Wall W1 is deleted.").wait_for()
    assert visit.complaints == []
