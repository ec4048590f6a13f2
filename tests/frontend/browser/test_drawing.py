"""Drawing on the plan in a real browser: by mouse, by touch, by keyboard and as numbers."""

import re

import pytest
from playwright.sync_api import expect

from showplan.records.models import CandidateSite, Change, CrowdArea, Level, Placement, Venue, Wall, Zone
from showplan.services.editing import edit
from showplan.services.planning import plan_venue
from tests.pictures import a_picture
from tests.tours import by

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


class Drawing:
    """The drawing page of the hall, 40 x 20 m, in a window of its own."""

    def __init__(self, visit, tour, level: str = "Hall") -> None:
        self.visit, self.page, self.tour = visit, visit.page, tour
        visit.open(f"/venues/{tour.venue.pk}/plan/?level={level}")
        assert visit.complaints == []
        assert not visit.page.locator("#trouble").is_visible(), visit.page.locator("#trouble").inner_text()
        self.settle()

    def settle(self) -> None:
        """Wait until the page says that all is saved and planned, and has painted it."""
        self.page.locator('#editor[aria-busy="false"]').wait_for(state="attached")
        self.page.evaluate("() => new Promise(requestAnimationFrame)")
        assert self.page.locator("#results-state").inner_text() == ""

    def at(self, x_m: float, y_m: float) -> tuple[float, float]:
        """Where a point of the level is in the window."""
        self.page.locator("#draw-map").scroll_into_view_if_needed()
        level = self.visit.box("#draw-map path.level")
        return level["x"] + x_m / 40 * level["width"], level["y"] + (20 - y_m) / 20 * level["height"]

    def click(self, x_m: float, y_m: float) -> None:
        self.page.mouse.click(*self.at(x_m, y_m))

    def drag(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        """Press at one point of the level, let go at another."""
        (x1, y1), (x2, y2) = self.at(*start), self.at(*end)
        self.page.mouse.move(x1, y1)
        self.page.mouse.down()
        self.page.mouse.move((x1 + x2) / 2, (y1 + y2) / 2, steps=4)
        self.page.mouse.move(x2, y2, steps=4)
        self.page.mouse.up()

    def use(self, tool: str) -> None:
        self.page.get_by_role("radio", name=tool, exact=True).check()

    def choose(self, name: str) -> None:
        self.page.locator("#objects").get_by_role("button", name=name, exact=True).click()

    def field(self, label: str):
        return self.page.locator("#object-form").get_by_label(label, exact=True)


@pytest.fixture
def wide(visit_with, owner, tour):
    """The page in a wide window, opened by the owner."""
    visit = visit_with("wide")
    visit.sign_in(owner)
    return Drawing(visit, tour)


def test_a_wall_drawn_by_two_clicks_is_a_record_and_changes_the_plan(wide):
    before = wide.page.locator("#answers").inner_text()
    wide.page.locator("#snap").fill("1")
    wide.use("wall")
    wide.click(5, 1)
    wide.page.mouse.move(*wide.at(5, 10))
    assert "length 9 m" in wide.page.locator("#readout").inner_text()
    wide.click(5, 19)
    wide.settle()
    wall = Wall.objects.get(label="Wall 1")
    assert (wall.start_x_m, wall.start_y_m, wall.end_x_m, wall.end_y_m) == (5, 1, 5, 19)
    assert wall.material == "brick-200"  # as the wall before it
    wide.field("material").select_option("metal")
    wide.page.get_by_role("button", name="Save these numbers").click()
    wide.settle()
    wall.refresh_from_db()
    assert (wall.material, wall.version) == ("metal", 2)
    wide.visit.picture("wall")
    assert wide.page.locator("#answers").inner_text() != before
    wide.visit.refuse_faults("a wall drawn")


def test_a_zone_drawn_by_corners(wide):
    wide.page.locator("#snap").fill("1")
    wide.use("zone")
    for corner in ((18, 2), (28, 2), (28, 8)):
        wide.click(*corner)
    wide.page.get_by_role("button", name="Finish the area").click()
    wide.settle()
    zone = Zone.objects.get(name="Zone 1")
    assert zone.corners_m == [[18, 2], [28, 2], [28, 8]]
    wide.use("select and move")
    wide.drag((28, 8), (22, 9))
    wide.settle()
    zone.refresh_from_db()
    assert zone.corners_m == [[18, 2], [28, 2], [22, 9]]
    assert wide.field("corners, one x and y a line (m)").input_value() == "18, 2\n28, 2\n22, 9"
    wide.visit.refuse_faults("a zone drawn")


def test_a_crowd_area_drawn_by_corners_fills_the_house(wide, tour):
    wide.page.locator("#snap").fill("1")
    wide.use("crowd area")
    for corner in ((18, 2), (28, 2), (28, 8)):
        wide.click(*corner)
    wide.page.keyboard.press("Enter")
    wide.settle()
    area = CrowdArea.objects.get(label="Crowd 1")
    assert (area.corners_m, area.height_m) == ([[18, 2], [28, 2], [28, 8]], 1.3)
    wide.field("loss of a metre of them (dB)").fill("0.4")
    wide.field("loss of a metre of them (dB)").press("Enter")
    wide.settle()
    area.refresh_from_db()
    assert area.loss_db_per_m == 0.4
    assert plan_venue(Venue.objects.select_related("project").get(pk=tour.venue.pk)).plan.states == ("empty", "full")
    wide.visit.refuse_faults("a crowd area drawn")


def test_a_dragged_placement_changes_numbers_links_and_readiness(wide):
    links = wide.page.locator("#draw-map path.link").count()
    assert links >= 7
    before = wide.page.locator("#draw-map path.link").evaluate_all("all => all.map((e) => e.getAttribute('d')).join()")
    wide.drag((2, 18), (38, 1))
    assert float(wide.field("x (m)").input_value()) == pytest.approx(38, abs=0.11)
    wide.settle()
    gateway = Placement.objects.get(node__label="N0")
    assert (gateway.x_m, gateway.y_m) == (pytest.approx(38, abs=0.11), pytest.approx(1, abs=0.11))
    assert gateway.version == 2
    after = wide.page.locator("#draw-map path.link").evaluate_all("all => all.map((e) => e.getAttribute('d')).join()")
    assert after != before
    wide.visit.refuse_faults("a node dragged")


def test_undo_takes_back_the_own_last_change_and_then_the_one_before(wide):
    undo = wide.page.get_by_role("button", name="Undo my last change")
    assert undo.is_disabled()
    wide.use("candidate site")
    wide.click(20, 10)
    wide.settle()
    site = CandidateSite.objects.get(label="Site 1")
    wide.use("select and move")
    wide.drag((20, 10), (24, 12))
    wide.settle()
    site.refresh_from_db()
    assert site.x_m == pytest.approx(24, abs=0.11)
    undo.click()
    wide.settle()
    site.refresh_from_db()
    assert site.x_m == pytest.approx(20, abs=0.11)
    undo.click()
    wide.settle()
    assert not CandidateSite.objects.filter(label="Site 1").exists()
    assert undo.is_disabled()
    assert wide.page.locator("#objects").get_by_text("Site 1").count() == 0
    wide.visit.refuse_faults("undone")


def test_the_keyboard_moves_deletes_and_lets_go(wide):
    wide.choose("wall W1")
    wide.page.keyboard.press("ArrowRight")
    wide.page.keyboard.press("ArrowRight")
    wide.page.keyboard.press("Shift+ArrowUp")
    wide.settle()
    wall = Wall.objects.get(label="W1")
    assert (wall.start_x_m, wall.end_x_m, wall.start_y_m, wall.end_y_m) == (15.2, 15.2, 1, 16)
    assert wall.version == 2  # three presses, one write
    wide.page.locator('.handle[data-index="1"]').focus()
    wide.page.keyboard.press("ArrowDown")
    wide.settle()
    wall.refresh_from_db()
    assert (wall.start_y_m, wall.end_y_m) == (1, 15.9)
    assert wide.page.evaluate("document.activeElement.dataset.index") == "1"
    wide.choose("wall W1")
    wide.page.keyboard.press("Delete")
    wide.page.get_by_role("button", name="Keep it").press("Enter")
    wide.settle()
    assert Wall.objects.filter(label="W1").exists()
    wide.page.keyboard.press("Delete")
    wide.page.get_by_role("button", name="Delete it").press("Enter")
    wide.settle()
    assert not Wall.objects.filter(label="W1").exists()
    wide.choose("wall W2")
    wide.page.keyboard.press("Escape")
    assert not wide.page.locator("#object-form").is_visible()
    assert wide.page.locator(".handle").count() == 0
    wide.visit.refuse_faults("by keyboard")


def test_new_objects_can_be_entered_as_numbers_and_faults_stand_beside_their_fields(wide):
    wide.use("wall")
    wide.page.get_by_role("button", name="Enter it as numbers").click()
    for label, value in (("start, x (m)", "1"), ("start, y (m)", "1,5"), ("end, x (m)", "far"), ("end, y (m)", "1.5")):
        wide.field(label).fill(value)
    save = wide.page.get_by_role("button", name="Save these numbers")
    save.click()
    assert wide.page.locator("#field-end_x_m-fault").inner_text().startswith("must be a number")
    wide.field("end, x (m)").fill("400")
    wide.visit.complaints.clear()
    save.click()
    wide.page.locator("#field-end_x_m-fault", has_text="lies off level").wait_for()
    assert wide.field("start, y (m)").input_value() == "1.5"  # nothing is lost
    assert wide.field("end, x (m)").get_attribute("aria-invalid") == "true"
    wide.visit.picture("faults")
    wide.visit.complaints = [text for text in wide.visit.complaints if "422" not in text]
    wide.field("end, x (m)").fill("4")
    save.click()
    wide.settle()
    wall = Wall.objects.get(label="Wall 1")
    assert (wall.start_y_m, wall.end_x_m) == (1.5, 4)
    wide.visit.refuse_faults("entered as numbers")


def test_a_site_says_its_weight_and_whether_a_relay_may_stand_there(wide):
    wide.use("candidate site")
    wide.click(20, 10)
    wide.settle()
    assert wide.field("weight against other sites").input_value() == "1"
    wide.field("weight against other sites").fill("2.5")
    wide.field("a relay here").select_option("never")
    wide.page.get_by_role("button", name="Save these numbers").click()
    wide.settle()
    site = CandidateSite.objects.get(label="Site 1")
    assert (site.cost, site.relay_use) == (2.5, "never")
    wide.visit.refuse_faults("a site's weight")


def _raise_wall(tour, user, **values) -> None:
    with edit(tour.project, by(user)) as change:
        change.update(Wall.objects.get(label="W1"), values)


@pytest.mark.parametrize(("answer", "height_m", "x_m"), [("Keep theirs", 5.5, 15.0), ("Keep mine", 5.5, 15.1)])
def test_who_was_slower_is_asked_whose_to_keep(wide, editor, answer, height_m, x_m):
    wide.choose("wall W1")
    _raise_wall(wide.tour, editor, height_m=5.5)
    wide.page.keyboard.press("ArrowRight")
    dialog = wide.page.get_by_role("dialog", name="Someone else was faster")
    dialog.wait_for()
    assert re.search(r"edgar-editor.*height_m from 4(\.0)? to 5\.5", dialog.inner_text())
    wide.visit.picture("conflict")
    dialog.get_by_role("button", name=answer).click()
    wide.settle()
    wall = Wall.objects.get(label="W1")
    assert (wall.height_m, wall.start_x_m) == (height_m, x_m)
    assert wide.field("height (m)").input_value() == "5.5"
    wide.visit.complaints = [text for text in wide.visit.complaints if "412" not in text]
    wide.visit.refuse_faults("a conflict settled")


def test_a_wall_deleted_meanwhile_can_be_made_anew(wide, editor):
    wide.choose("wall W1")
    with edit(wide.tour.project, by(editor)) as change:
        change.delete(Wall.objects.get(label="W1"))
    wide.page.keyboard.press("ArrowRight")
    wide.page.get_by_role("button", name="Keep mine").click()
    wide.settle()
    assert Wall.objects.get(label="W1").start_x_m == 15.1


def test_without_network_the_change_stays_and_can_be_sent_again(wide):
    wide.choose("wall W1")
    wide.page.route("**/api/v1/**", lambda route: route.abort())
    wide.page.keyboard.press("ArrowRight")
    trouble = wide.page.get_by_role("alert")
    trouble.get_by_text("The server cannot be reached").wait_for()
    assert wide.field("start, x (m)").input_value() == "15.1"
    wide.visit.picture("no-network")
    wide.page.unroute("**/api/v1/**")
    trouble.get_by_role("button", name="Try again").click()
    wide.settle()
    assert Wall.objects.get(label="W1").start_x_m == 15.1
    assert not trouble.is_visible()


def test_a_new_wall_that_arrived_without_an_answer_is_not_made_twice(wide):
    lost = []

    def swallow(route):
        if route.request.method == "POST" and not lost:
            lost.append(route.fetch().status)  # the server has it; the page never hears of it
            route.abort()
        else:
            route.continue_()

    wide.page.route("**/api/v1/**/walls/", swallow)
    wide.use("wall")
    wide.click(20, 2)
    wide.click(20, 12)
    wide.page.get_by_role("alert").get_by_role("button", name="Try again").click()
    wide.settle()
    assert lost == [201]
    assert Wall.objects.filter(label="Wall 1").count() == 1
    assert wide.page.locator("#object-form").get_by_text("wall Wall 1: saved").is_visible()


def test_a_node_is_placed_and_can_move_in_a_zone_instead(wide):
    wide.use("place a node")
    assert wide.page.locator("#node-to-place").inner_text() == "Spare, receiver"
    wide.click(12, 4)
    wide.settle()
    placement = Placement.objects.get(node__label="Spare")
    assert placement.level.name == "Hall"
    wide.field("zone in which it moves").select_option(label="Stage")
    wide.page.get_by_role("button", name="Save these numbers").click()
    wide.settle()
    placement.refresh_from_db()
    assert (placement.zone.name, placement.x_m) == ("Stage", None)
    wide.visit.refuse_faults("placed")


def test_a_level_is_made_as_numbers(wide):
    wide.page.get_by_role("button", name="New level").click()
    wide.field("name").fill("Under stage")
    wide.field("elevation of the floor (m)").fill("-2.8")
    wide.page.get_by_role("button", name="Save these numbers").click()
    wide.page.wait_for_url("**level=Under+stage")
    wide.settle()
    assert Level.objects.get(name="Under stage").elevation_m == -2.8


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
    visit.sign_in(owner)
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
    visit.sign_in(owner)
    visit.open(f"/venues/{tour.venue.pk}/plan/")
    visit.picture("without-script")
    assert not visit.page.locator("#editor").is_visible()
    assert visit.page.locator("#plan-drawing").is_visible()
    assert visit.page.get_by_role("link", name="candidate sites").is_visible()


def test_a_dark_room_is_sound(visit_with, owner, tour):
    visit = visit_with("wide", color_scheme="dark")
    visit.sign_in(owner)
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
