"""Work in progress in a real browser: it renews itself, keeps the keyboard's place, and works without scripts."""

import pytest
from django.db.models.functions import Now

from showplan.records.models import Job, Worker
from showplan.services.jobs import queue
from showplan.services.jobs.kinds import KINDS
from showplan.services.jobs.starting import start_job
from showplan.services.rights import Caller

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
LEVELS = [{"level": "Hall", "network": "Show", "house": "empty", "share_served": 0.9, "zones": []}]


@pytest.fixture
def address(tour):
    """The venue's jobs."""
    return f"/venues/{tour.venue.pk}/jobs/"


@pytest.fixture
def worker(db):
    """The row of a worker that lives."""
    return Worker.objects.create(name="here 1", heartbeat=Now())


def _started(tour, owner, worker, step_m=2.0):
    start_job(Caller(owner), tour.venue, "coverage-of-levels", {"step_m": step_m})
    return queue.claim_next(worker, KINDS)


def test_the_list_renews_itself_and_is_sound(visit_with, size, tour, owner, worker, address):
    failed = _started(tour, owner, worker, 3.0)
    queue.finish(failed, "failed", problem={"code": "fault", "detail": "there is nothing to compute here, sorry"})
    run = _started(tour, owner, worker)
    visit = visit_with(size)
    visit.enter(owner)
    visit.page.goto(visit.base + address)
    visit.page.get_by_role("button", name="Cancel Coverage of every level").focus()
    queue.note(run, 0.37, "level Hall, network Show, house empty", {"best": 7.0, "bound": 5.0})
    visit.page.get_by_text("37 %, level Hall").wait_for()
    assert visit.page.get_by_text("best so far 7, no answer can beat 5").is_visible()
    # The list was exchanged under the keyboard, which stays where it was.
    assert visit.page.evaluate("document.activeElement.id") == f"cancel-{run.pk}"
    visit.picture("jobs")
    visit.refuse_faults("jobs")
    queue.finish(run, "done", result={"step_m": 2.0, "levels": LEVELS})
    visit.page.get_by_role("cell", name="done").wait_for()
    assert visit.page.locator("[hx-trigger]").count() == 0
    visit.page.get_by_role("link", name="Coverage of every level").first.click()
    visit.page.get_by_text("90 % of the level keeps the fade margin").wait_for()
    visit.picture("job")
    visit.refuse_faults("job")


def test_starting_and_cancelling_by_keyboard(visit_with, tour, owner, address):
    visit = visit_with("wide")
    visit.enter(owner)
    visit.open(f"/venues/{tour.venue.pk}/")
    visit.page.get_by_role("link", name="work in progress").press("Enter")
    visit.page.get_by_label("Side of a cell (m)").fill("2")
    visit.page.get_by_label("Side of a cell (m)").press("Enter")
    visit.page.get_by_text("the job is in the list").wait_for()
    assert visit.page.get_by_text("No worker is running").is_visible()
    visit.refuse_faults("without a worker")
    visit.page.get_by_role("button", name="Cancel Coverage of every level").press("Enter")
    visit.page.get_by_text("The job is cancelled.").wait_for()
    assert Job.objects.get().state == "cancelled"
    visit.refuse_faults("cancelled")


def test_without_scripts_a_link_looks_again(visit_with, tour, owner, worker, address):
    run = _started(tour, owner, worker)
    visit = visit_with("narrow", java_script_enabled=False)
    visit.enter(owner)
    visit.open(address)
    queue.note(run, 0.5, "level Gallery", None)
    visit.page.get_by_role("link", name="Look again").click()
    visit.page.get_by_text("50 %, level Gallery").wait_for()
