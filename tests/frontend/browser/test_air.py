"""Does the data fit, in a real browser: sound at both sizes, ways of sending on demand, a simulation, and on paper."""

import pytest
from django.db.models.functions import Now

from showplan.records.models import Worker
from showplan.services.jobs import queue
from showplan.services.jobs.kinds import KINDS
from tests.air_jobs import simulated_job, simulated_result
from tests.frontend.browser.paper import A4_WITHIN_MARGINS_PX, TOO_WIDE

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def address(tour):
    """The page of the venue's data."""
    return f"/venues/{tour.venue.pk}/air/"


def _open(visit_with, size, owner, address, **options):
    visit = visit_with(size, **options)
    visit.enter(owner)
    visit.open(address)
    return visit


def _compare(page):
    page.get_by_role("link", name="Compare ways of sending").press("Enter")
    page.get_by_text("How many networks reach").wait_for()


def test_the_page_is_sound(visit_with, size, tour, owner, address):
    simulated_job(tour.venue, owner)
    visit = _open(visit_with, size, owner, address)
    visit.picture("air")
    visit.refuse_faults("as it opens")
    assert visit.page.locator(".air-nodes").is_visible() is (size == "wide")
    _compare(visit.page)
    assert visit.page.evaluate("document.activeElement.className") == "ways"
    for summary in visit.page.locator("main details > summary").all():
        if summary.is_visible() and not summary.evaluate("one => one.parentElement.open"):
            summary.click()
    visit.picture("air-unfolded")
    visit.refuse_faults("everything unfolded")


def test_it_is_sound_in_a_dark_room(visit_with, tour, owner, address):
    simulated_job(tour.venue, owner)
    visit = _open(visit_with, "wide", owner, address, color_scheme="dark")
    _compare(visit.page)
    visit.picture("air-dark")
    visit.refuse_faults("dark")


def test_from_the_question_to_the_answer_by_keyboard(visit_with, tour, owner, address):
    worker = Worker.objects.create(name="here 1", heartbeat=Now())
    visit = _open(visit_with, "narrow", owner, f"/venues/{tour.venue.pk}/")
    page = visit.page
    page.get_by_role("link", name="data on the air").press("Enter")
    page.get_by_label("Seconds of show").fill("10")
    page.get_by_label("Replications").fill("4")
    page.get_by_label("Replications").press("Enter")
    page.get_by_text("The simulation is under way.").wait_for()
    run = queue.claim_next(worker, KINDS)
    page.get_by_role("button", name="Cancel, keep the replications done").focus()
    queue.note(run, 0.37, "1 of 4 replications done", {})
    page.get_by_text("37 %, 1 of 4 replications done").wait_for()
    assert page.evaluate("document.activeElement.id") == f"cancel-{run.pk}"
    visit.refuse_faults("under way")
    queue.finish(run, "done", result=simulated_result(tour.venue))
    page.get_by_role("heading", name="What the simulation of network Show finds").wait_for()
    visit.refuse_faults("the answer arrived")


def test_without_scripts_ways_have_a_page_of_their_own(visit_with, owner, address):
    visit = _open(visit_with, "narrow", owner, address, java_script_enabled=False)
    visit.page.get_by_role("link", name="Compare ways of sending").click()
    visit.page.get_by_role("heading", name="Ways of sending, house").wait_for()
    assert visit.page.locator(".best-way").count() == 1


def test_paper_has_figures_drawings_nodes_and_nothing_to_click(visit_with, tour, owner, address):
    simulated_job(tour.venue, owner)
    visit = _open(visit_with, "wide", owner, address)
    page = visit.page
    shown = {
        address: (".figures", ".time-parts", ".air-nodes", ".distribution", ".simulated"),
        f"{address}strategies/": (".ways-table",),
    }
    page.set_viewport_size({"width": A4_WITHIN_MARGINS_PX, "height": 1000})
    page.emulate_media(media="print")
    for path, selectors in shown.items():
        visit.open(path)
        visit.picture(f"paper{selectors[0]}")
        for selector in (*selectors, ".cautions", ".provenance", ".fingerprint"):
            assert page.locator(selector).first.is_visible(), f"{path} {selector}"
        assert page.locator("button:visible, nav:visible, input:visible").count() == 0
        assert page.evaluate(TOO_WIDE) == [], path
        paper = visit.pictures / f"paper{selectors[0]}.pdf"
        assert page.pdf(format="A4", path=paper, print_background=False).startswith(b"%PDF")
        print(f"paper: {paper}")
