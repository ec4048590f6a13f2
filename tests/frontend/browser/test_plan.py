"""The plan really draws: as a map with script, as a drawing without, and on paper."""

import re

import pytest

from tests.frontend.browser.conftest import overlap

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def address(tour):
    """Path of the venue's page."""
    return f"/venues/{tour.venue.pk}/"


@pytest.fixture
def visit(visit_with, size, owner, address):
    """The venue's page, signed in."""
    made = visit_with(size)
    made.enter(owner)
    made.open(address)
    return made


def _count(visit, selector: str) -> int:
    return visit.page.locator(f"#plan-map {selector}").count()


def test_the_map_draws_everything(visit):
    assert _count(visit, "path.wall") == 2
    assert _count(visit, "path.zone") == 1
    assert _count(visit, "path.link") == 8
    assert _count(visit, "path.link-casing") == 8
    assert (_count(visit, ".mark.gateway"), _count(visit, ".mark.relay"), _count(visit, ".mark.receiver")) == (1, 1, 7)
    assert not visit.page.locator("#plan-drawing").is_visible()


def test_links_differ_by_more_than_colour(visit):
    casings = visit.page.locator("#plan-map path.link-casing")
    dashes = {casings.nth(i).get_attribute("stroke-dasharray") for i in range(casings.count())}
    assert len(dashes) > 1


def test_the_coverage_picture_is_loaded_and_lies_on_the_level(visit):
    loaded = visit.page.evaluate("document.querySelector('#plan-map img.coverage').naturalWidth")
    assert loaded == 960
    picture, level = visit.box("#plan-map img.coverage"), visit.box("#plan-map path.level")
    for edge in ("x", "y", "width", "height"):
        assert picture[edge] == pytest.approx(level[edge], abs=2.5)


def test_nodes_stand_where_the_records_say(visit):
    """N0 at (2, 18) m and N7 at (26.5, 18) m of a level of 40 x 20 m."""
    level = visit.box("#plan-map path.level")
    for label, x_m in (("N0, gateway", 2.0), ("N7, receiver", 26.5)):
        mark = visit.box(f'#plan-map .mark[title="{label}"]')
        middle = mark["x"] + mark["width"] / 2, mark["y"] + mark["height"] / 2
        assert middle[0] == pytest.approx(level["x"] + x_m / 40 * level["width"], abs=3)
        assert middle[1] == pytest.approx(level["y"] + 2 / 20 * level["height"], abs=3)


def test_names_do_not_lie_on_each_other(visit):
    boxes = visit.page.evaluate(
        """[...document.querySelectorAll("#plan-map .plan-label:not(.no-room)")]
        .map((e) => e.getBoundingClientRect()).map((r) => ({x: r.x, y: r.y, width: r.width, height: r.height}))"""
    )
    assert len(boxes) >= 3
    for index, box in enumerate(boxes):
        assert not any(overlap(box, other) for other in boxes[:index])


def test_map_layers_and_legend_do_not_overlap(visit):
    frame, layers, legend = (visit.box(selector) for selector in ("#plan-map", "#plan-layers", ".legend"))
    assert not overlap(frame, layers)
    assert not overlap(frame, legend)
    assert not overlap(layers, legend)
    assert frame["height"] >= 250
    assert visit.page.locator(".legend").get_by_text("under 0 dB").is_visible()


def test_layers_can_be_taken_away_and_brought_back(visit):
    for value, selector in (("coverage", "img.coverage"), ("links", "path.link"), ("sites", ".mark:not(.node)")):
        box = visit.page.locator(f'#plan-layers input[value="{value}"]')
        shown = _count(visit, selector)
        assert shown > 0, value
        box.uncheck()
        assert _count(visit, selector) == 0, value
        box.check()
        assert _count(visit, selector) == shown, value
    visit.page.get_by_label("labels").uncheck()
    assert not visit.page.locator("#plan-map .node-name").first.is_visible()
    assert visit.complaints == []


def test_the_map_zooms_by_keyboard_and_button(visit):
    before = visit.box("#plan-map path.level")["width"]
    visit.page.get_by_role("button", name="Zoom in").press("Enter")
    width = "document.querySelector('#plan-map img.coverage').getBoundingClientRect().width"
    visit.wait_until(f"{width} > {before} * 1.2")
    assert visit.complaints == []


def test_a_name_that_looks_like_markup_stays_text(visit):
    assert visit.page.get_by_title("Walker <1>, receiver, moves in Stage").count() == 1
    assert visit.page.locator("#plan-map .plan-label", has_text="Walker <1>").count() == 1


def test_choosing_another_level_keeps_the_plan_in_view(visit):
    visit.page.get_by_role("navigation", name="Level").get_by_role("link", name="Gallery").click()
    visit.page.wait_for_url("**level=Gallery**")
    assert visit.page.get_by_role("heading", name="Plan: Gallery, network Show, all senders").is_visible()
    assert visit.box("#plan")["y"] < visit.page.viewport_size["height"]


def test_without_script_the_drawing_the_lists_and_the_choices_are_there(visit_with, size, owner, address):
    visit = visit_with(size, java_script_enabled=False)
    visit.sign_in(owner)
    visit.open(address)
    visit.picture("without-script")
    assert not visit.page.locator("#plan-map").is_visible()
    assert not visit.page.locator("#plan-layers").is_visible()
    drawing = visit.page.locator("#plan-drawing")
    assert drawing.is_visible()
    assert drawing.locator("path.wall").count() == 2
    assert drawing.locator("text.node-name").count() >= 6
    assert visit.page.get_by_role("heading", name="Findings").is_visible()
    visit.page.get_by_role("link", name="N1", exact=True).click()
    visit.page.wait_for_url("**sender=N1**")
    visit.open("/formulas/free_space_loss_db/")
    visit.page.get_by_label("length of the path").fill("10")
    visit.page.get_by_label("radio frequency").fill("2400")
    visit.page.get_by_role("button", name="Work it out").click()
    visit.page.get_by_role("status").get_by_text(re.compile(r"^\s*60\.05")).first.wait_for()
    assert visit.complaints == []


def test_paper_has_the_drawing_the_findings_and_no_buttons(visit_with, owner, address):
    visit = visit_with("wide")
    visit.enter(owner)
    visit.open(address)
    visit.page.emulate_media(media="print")
    visit.picture("paper")
    for selector in ("#plan-drawing", ".legend", ".finding", ".cautions", ".fingerprint", "h1", "footer"):
        assert visit.page.locator(selector).first.is_visible(), selector
    for selector in ("#plan-map", "#plan-layers", ".choices", ".who", "header nav"):
        assert not visit.page.locator(selector).first.is_visible(), selector
    drawing, legend = visit.box("#plan-drawing"), visit.box(".legend")
    assert not overlap(drawing, legend)
    assert visit.page.pdf(format="A4").startswith(b"%PDF")
