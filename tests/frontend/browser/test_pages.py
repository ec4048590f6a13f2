"""Every page in a real browser, wide and narrow: nothing complains, nothing is cut off, everybody can use it."""

import pytest

from tests.frontend.browser.conftest import overlap

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def visit(visit_with, size, owner):
    """A visit of the owner, signed in."""
    made = visit_with(size)
    made.enter(owner)
    return made


def _pages(tour) -> dict[str, str]:
    return {
        "projects": "/",
        "project": f"/projects/{tour.project.pk}/",
        "venue": f"/venues/{tour.venue.pk}/",
        "gallery": f"/venues/{tour.venue.pk}/?level=Gallery",
        "sender": f"/venues/{tour.venue.pk}/?sender=N1",
        "power": f"/venues/{tour.venue.pk}/power/",
        "formulas": "/formulas/",
        "formula": "/formulas/free_space_loss_db/?distance_m=10&frequency_mhz=9000",
        "formula-faults": "/formulas/free_space_loss_db/?distance_m=far&colour=red",
        "reference": "/reference/",
    }


def test_every_page_is_sound(visit, tour):
    for name, path in _pages(tour).items():
        visit.open(path)
        visit.picture(name)
        visit.refuse_faults(name)
        assert not overlap(visit.box("header"), visit.box("main")), name
        assert not overlap(visit.box("main"), visit.box("footer")), name
        assert visit.box("h1")["height"] > 10, name


def test_sign_in_is_sound_and_says_what_is_wrong(visit_with, size, owner):
    visit = visit_with(size)
    visit.open("/sign-in/")
    visit.refuse_faults("sign-in")
    visit.page.get_by_label("Username").fill(owner.username)
    visit.page.get_by_label("Password").fill("wrong")
    visit.page.get_by_label("Password").press("Enter")
    visit.page.get_by_role("alert").wait_for()
    visit.picture("sign-in")
    visit.refuse_faults("sign-in with a wrong password")


def test_a_page_that_is_not_there_is_sound(visit):
    visit.open("/no/such/page/")
    visit.complaints = [text for text in visit.complaints if "404" not in text]  # the browser's own word for it
    visit.refuse_faults("404")
    assert visit.page.get_by_role("heading", name="Not here").is_visible()


def test_a_dark_room_is_sound(visit_with, owner, tour):
    visit = visit_with("wide", color_scheme="dark")
    visit.enter(owner)
    for name, path in _pages(tour).items():
        visit.open(path)
        visit.picture(f"dark-{name}")
        visit.refuse_faults(f"dark {name}")


def test_the_keyboard_alone_leads_from_the_start_to_a_finding(visit, tour):
    visit.open("/")
    visit.page.keyboard.press("Tab")
    assert visit.page.evaluate("document.activeElement.textContent") == "Skip to the content"
    assert visit.box(".skip")["x"] >= 0
    visit.page.keyboard.press("Enter")
    visit.wait_for_focus("id", "main")
    visit.page.keyboard.press("Tab")
    assert visit.page.evaluate("document.activeElement.textContent") == tour.project.name
    outline = visit.page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    visit.page.keyboard.press("Enter")
    visit.page.wait_for_url(f"**/projects/{tour.project.pk}/")
    visit.page.locator(".readiness a.state").first.focus()
    visit.page.keyboard.press("Enter")
    visit.page.wait_for_url("**#q-legal-and-quiet")
    assert visit.page.get_by_role("heading", name="Is it legal and quiet here?").is_visible()


def test_signing_in_by_the_form_and_out_by_the_button(visit_with, size, owner, tour):
    visit = visit_with(size)
    visit.sign_in(owner)
    assert visit.page.get_by_role("link", name=tour.project.name).is_visible()
    visit.page.get_by_role("button", name="Sign out").click()
    visit.page.wait_for_url("**/sign-in/")
    visit.open("/")
    assert "/sign-in/?next=/" in visit.page.url
