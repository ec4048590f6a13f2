"""Drawing on the plan in a real browser: by mouse, by touch, by keyboard and as numbers."""

import pytest

from showplan.records.models import CandidateSite, CrowdArea, Level, Placement, Venue, Wall, Zone
from showplan.services.planning import plan_venue

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


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
