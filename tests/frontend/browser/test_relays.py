"""Relays and failures in a real browser: sound at both sizes, by keyboard from the question to undo, and on paper."""

import pytest
from django.db.models.functions import Now
from django.utils import timezone

from showplan.records.models import Job, Placement, Worker
from showplan.services.jobs import queue
from showplan.services.jobs.kinds import KINDS
from tests.frontend.browser.paper import A4_WITHIN_MARGINS_PX, TOO_WIDE
from tests.relay_jobs import add_sites, answer, finished_job, infeasible_job

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def address(tour, owner):
    """The page of a venue with three candidate sites."""
    add_sites(tour.venue, owner)
    return f"/venues/{tour.venue.pk}/relays/"


def _open(visit_with, size, owner, address, **options):
    visit = visit_with(size, **options)
    visit.enter(owner)
    visit.open(address)
    return visit


def test_the_page_is_sound(visit_with, size, tour, owner, address):
    visit = _open(visit_with, size, owner, address)
    visit.picture("relays-empty")
    visit.refuse_faults("nothing planned")
    finished_job(tour.venue, owner, ["Left truss"], ["Left truss", "Bar shelf"], ["Right truss"], routes=2)
    visit.open(address)
    for summary in visit.page.locator("main details > summary").all():
        if summary.is_visible():
            summary.click()
    visit.picture("relays")
    visit.refuse_faults("placements")
    infeasible_job(tour.venue, owner, most_relays=1)
    visit.open(address)
    visit.picture("relays-infeasible")
    visit.refuse_faults("infeasible")


def test_it_is_sound_in_a_dark_room(visit_with, tour, owner, address):
    finished_job(tour.venue, owner, ["Left truss"], ["Right truss"])
    visit = _open(visit_with, "wide", owner, address, color_scheme="dark")
    visit.picture("relays-dark")
    visit.refuse_faults("dark")


def test_from_the_question_to_undo_by_keyboard(visit_with, size, tour, owner, address):
    worker = Worker.objects.create(name="here 1", heartbeat=Now())
    visit = _open(visit_with, size, owner, f"/venues/{tour.venue.pk}/")
    page = visit.page
    page.get_by_role("link", name="relays and failures").press("Enter")
    page.get_by_label("Least delivery of a hop").fill("0.5")
    page.get_by_label("Least delivery of a hop").press("Enter")
    page.get_by_text("The planning is under way.").wait_for()
    run = queue.claim_next(worker, KINDS)
    page.get_by_role("button", name="Cancel, keep the best so far").focus()
    queue.note(run, 0.37, "searching", {"best": 3.0, "bound": 2.0})
    page.get_by_text("37 %, searching").wait_for()
    assert page.evaluate("document.activeElement.id") == f"cancel-{run.pk}"
    visit.refuse_faults("under way")
    queue.finish(run, "done", result=answer(tour.venue, ["Left truss"], ["Right truss"], least_delivery=0.5))
    take = page.get_by_role("button", name="Use this placement 2")
    take.wait_for()
    visit.refuse_faults("the answer arrived")
    take.press("Enter")
    page.get_by_text("The placement is taken, 1 node changed.").wait_for()
    assert Placement.objects.get(node__label="N1").x_m == 24.0
    assert page.get_by_role("button", name="Use this placement 1").is_disabled()
    visit.picture("relays-taken")
    visit.refuse_faults("taken")
    page.get_by_role("link", name="Undo the taking of this placement").press("Enter")
    page.get_by_role("button", name="Undo it").press("Enter")
    page.get_by_text("is undone.").wait_for()
    assert Placement.objects.get(node__label="N1").x_m == 5.5


def test_demands_come_and_go_by_keyboard(visit_with, size, owner, address):
    visit = _open(visit_with, size, owner, address)
    page = visit.page
    page.get_by_text("Demands of single nodes or zones").press("Enter")
    page.get_by_label("Node or zone").fill("Nobody")
    page.get_by_role("button", name="Another demand").press("Enter")
    visit.wait_for_focus("id", "wish_demand_name_1")
    page.keyboard.type("Stage")
    page.locator("#wish_demand_least_delivery_1").fill("0.6")
    visit.refuse_faults("two demands")
    page.get_by_role("button", name="Take off demand 1").press("Enter")
    visit.wait_for_focus("name", "another_demand")
    page.locator("#wish_demand_extra_margin_db_1").fill("90")
    page.locator("#wish_demand_extra_margin_db_1").press("Enter")
    page.get_by_text("Must be less than or equal to 40, not 90.0.").wait_for()
    visit.complaints.clear()  # the browser notes the 409 of a refusal
    visit.picture("relays-demand-refused")
    visit.refuse_faults("a demand refused")
    page.locator("#wish_demand_extra_margin_db_1").fill("3")
    page.locator("#wish_demand_extra_margin_db_1").press("Enter")
    page.get_by_text("The planning is under way.").wait_for()
    assert Job.objects.get().parameters["demands"] == [{"name": "Stage", "least_delivery": 0.6, "extra_margin_db": 3.0}]


def test_demands_without_scripts(visit_with, owner, address):
    visit = _open(visit_with, "narrow", owner, address, java_script_enabled=False)
    page = visit.page
    page.get_by_text("Demands of single nodes or zones").click()
    page.get_by_label("Node or zone").fill("Stage")
    page.get_by_role("button", name="Another demand").click()
    page.locator("#wish_demand_name_1").fill("N2")
    assert page.locator("#wish_demand_name_0").input_value() == "Stage"
    assert page.url.endswith("#own-demands")
    page.get_by_role("button", name="Take off demand 1").click()
    assert page.locator("[name^=demand_name]").evaluate_all("all => all.map((one) => one.value)") == ["N2"]


def test_without_scripts_a_link_looks_again(visit_with, tour, owner, address):
    visit = _open(visit_with, "narrow", owner, address, java_script_enabled=False)
    visit.page.get_by_role("button", name="Plan it").click()
    visit.page.get_by_text("No worker is running").wait_for()
    result = answer(tour.venue, ["Left truss"], least_delivery=0.9)
    Job.objects.update(state="done", result=result, scene="", finished_at=timezone.now())
    visit.page.get_by_role("link", name="Look again").click()
    visit.page.get_by_role("button", name="Use this placement 1").wait_for()


def test_paper_has_plans_routes_failures_and_nothing_to_click(visit_with, tour, owner, address):
    demand = {"name": "Stage", "least_delivery": 0.6, "extra_margin_db": 3.0}
    finished_job(tour.venue, owner, ["Left truss"], ["Right truss"], demands=[demand])
    visit = _open(visit_with, "wide", owner, address)
    visit.page.set_viewport_size({"width": A4_WITHIN_MARGINS_PX, "height": 1000})
    visit.page.emulate_media(media="print")
    visit.picture("relays-paper")
    for selector in (".small-plan svg", ".in-numbers table", ".failures", ".cautions", ".provenance", ".fingerprint"):
        assert visit.page.locator(selector).first.is_visible(), selector
    assert visit.page.get_by_text("Every hop to Stage must deliver at least 60 %").is_visible()
    assert visit.page.locator("button:visible, nav:visible, input:visible").count() == 0
    assert visit.page.evaluate(TOO_WIDE) == []
    assert visit.page.pdf(format="A4").startswith(b"%PDF")
