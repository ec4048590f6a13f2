"""The drawing page by touch, in the dark, without script, on paper, and over a plan picture."""

import re

import pytest
from playwright.sync_api import expect

from showplan.records.models import Change, Level, Wall
from tests.frontend.browser.drawing_page import Drawing
from tests.pictures import a_picture

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def _files_of_its_own(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.mark.usefixtures("_files_of_its_own")
def test_a_plan_picture_is_put_under_brought_to_scale_and_taken_away(wide, tmp_path):
    file = tmp_path / "plan.png"
    file.write_bytes(b"only words")
    wide.page.get_by_label("PNG, JPEG or WebP").set_input_files(file)
    put = wide.page.get_by_role("button", name="Put this picture under the plan")
    put.click()
    wide.page.get_by_text("this is no PNG, JPEG or WebP picture").wait_for()
    wide.visit.complaints = [text for text in wide.visit.complaints if "422" not in text]
    file.write_bytes(a_picture("PNG", (400, 200)))
    wide.page.get_by_label("PNG, JPEG or WebP").set_input_files(file)
    put.click()
    picture = wide.page.locator("#draw-map img.plan-picture")
    picture.wait_for()
    wide.settle()
    assert picture.bounding_box()["width"] == pytest.approx(wide.visit.box("#draw-map path.level")["width"], abs=3)
    wide.page.get_by_role("button", name="Set the scale by two points").click()
    wide.click(0.5, 10)
    wide.click(20.5, 10)
    wide.page.get_by_label("real length (m)").fill("10")
    wide.page.get_by_role("button", name="Set the scale", exact=True).click()
    wide.page.get_by_text(re.compile(r"0\.0(50|49)\d* m a pixel")).wait_for()
    wide.settle()
    hall = Level.objects.get(name="Hall")
    assert hall.plan_metres_per_pixel == pytest.approx(0.05, rel=0.01)
    assert not wide.page.get_by_label("real length (m)").is_visible()
    assert wide.page.locator("#draw-map .node-name:not(.no-room)", has_text="Walker <1>").is_visible()
    wide.visit.picture("plan-picture")
    wide.visit.refuse_faults("a plan picture")
    wide.page.get_by_role("button", name="Take the picture away").click()
    wide.page.get_by_text("None yet.").wait_for()
    wide.settle()
    wide.page.get_by_role("button", name="Undo my last change").click()
    picture.wait_for()
    wide.settle()
    wide.visit.open(f"/venues/{wide.tour.venue.pk}/")
    assert wide.page.locator("#plan-map img.plan-picture").count() == 1
    wide.visit.picture("venue-with-picture")
    wide.visit.refuse_faults("the venue with its picture")


def test_by_touch_on_a_narrow_screen(visit_with, owner, tour):
    visit = visit_with("narrow", has_touch=True, is_mobile=True)
    visit.enter(owner)
    drawing = Drawing(visit, tour)
    visit.picture("narrow")
    drawing.use("wall")
    drawing.page.locator("#snap").fill("1")
    drawing.page.touchscreen.tap(*drawing.at(20, 2))
    drawing.page.touchscreen.tap(*drawing.at(20, 12))
    drawing.page.locator("#objects").get_by_role("button", name="wall Wall 1", exact=True).wait_for()
    drawing.settle()
    wall = Wall.objects.get(label="Wall 1")
    assert (wall.start_x_m, wall.end_y_m) == (20, 12)
    drawing.use("select and move")
    drawing.page.touchscreen.tap(*drawing.at(20, 7))
    expect(drawing.page.locator(".handle")).to_have_count(3)
    for handle in drawing.page.locator(".handle").all():
        box = handle.bounding_box()
        assert min(box["width"], box["height"]) >= 24
    visit.picture("narrow-wall")
    visit.refuse_faults("by touch")


def test_without_script_the_drawing_and_the_lists_are_there(visit_with, owner, tour):
    visit = visit_with("wide", java_script_enabled=False)
    visit.enter(owner)
    visit.open(f"/venues/{tour.venue.pk}/plan/")
    visit.picture("without-script")
    assert not visit.page.locator("#editor").is_visible()
    assert visit.page.locator("#plan-drawing").is_visible()
    assert visit.page.get_by_role("link", name="candidate sites").is_visible()


def test_a_dark_room_is_sound(visit_with, owner, tour):
    visit = visit_with("wide", color_scheme="dark")
    visit.enter(owner)
    drawing = Drawing(visit, tour)
    drawing.choose("zone Stage")
    visit.picture("dark")
    visit.refuse_faults("dark")


NOTE_BUSY = """() => {
  window.wasBusy = [];
  const editor = document.getElementById("editor");
  new MutationObserver(() => wasBusy.push(editor.ariaBusy)).observe(editor, { attributeFilter: ["aria-busy"] });
}"""


def _on_paper(page, *selectors: str) -> list[bool]:
    page.emulate_media(media="print")
    shown = [page.locator(selector).first.is_visible() for selector in selectors]
    page.emulate_media(media="screen")
    return shown


def test_a_change_is_one_row_of_history_the_page_is_busy_till_it_is_planned_and_paper_is_not_stale(wide, owner):
    on_paper = ("#plan-drawing", ".provenance", ".cautions", ".if-stale", ".tools", ".objects")
    assert _on_paper(wide.page, *on_paper) == [True, True, True, False, False, False]
    wide.page.evaluate(NOTE_BUSY)
    wide.choose("wall W2")
    wide.page.keyboard.press("ArrowLeft")
    wide.settle()
    noted = wide.page.evaluate("wasBusy")
    assert (noted[0], noted[-1], noted.count("false")) == ("true", "false", 1)
    assert _on_paper(wide.page, *on_paper) == [False, False, True, True, False, False]
    last = Change.objects.order_by("-id").first()
    assert (last.actor, last.via, last.record_name) == (owner, "page", "W2")
    assert last.after == {"start_x_m": 29.9, "end_x_m": 29.9}
