"""Coverage layers, spectrum and calibration in a real browser, wide and narrow, on the screen and on paper."""

import re

import pytest

from showplan.records.models import CrowdArea, Level
from showplan.services.editing import edit
from showplan.services.pictures import margin_class
from tests.frontend.browser.conftest import overlap
from tests.frontend.browser.paper import A4_WITHIN_MARGINS_PX, TOO_WIDE
from tests.frontend.radio import taken, walk_test
from tests.tours import by

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def radio_tour(tour, owner):
    """The tour with a walk test, taken spectrum and an audience in the hall."""
    walk_test(tour, owner)
    taken(tour, owner)
    with edit(tour.project, by(owner)) as change:
        hall = Level.objects.get(venue=tour.venue, name="Hall")
        outline = [[12, 1], [38, 1], [38, 14], [12, 14]]
        change.create([CrowdArea(level=hall, label="Stalls", corners_m=outline, loss_db_per_m=2.0)])
    return tour


@pytest.fixture
def here(radio_tour):
    """Path of the venue's page."""
    return f"/venues/{radio_tour.venue.pk}/"


@pytest.fixture
def visit(visit_with, size, owner, here):
    """A visit of the owner, signed in."""
    made = visit_with(size)
    made.enter(owner)
    return made


def _pages(here: str) -> dict[str, str]:
    return {
        "second": f"{here}?layer=second",
        "delivery": f"{here}?layer=delivery&house=empty",
        "spectrum": f"{here}spectrum/",
        "calibration": f"{here}calibration/",
    }


def test_every_radio_page_is_sound(visit, here):
    for name, path in _pages(here).items():
        visit.open(path)
        visit.picture(name)
        visit.refuse_faults(name)
        assert not overlap(visit.box("header"), visit.box("main")), name


def test_the_radio_pages_are_sound_in_a_dark_room(visit_with, owner, here):
    visit = visit_with("wide", color_scheme="dark")
    visit.enter(owner)
    for name, path in _pages(here).items():
        visit.open(path)
        visit.picture(f"dark-{name}")
        visit.refuse_faults(f"dark {name}")


def _value(visit) -> str:
    return visit.page.locator("#plan-value output").inner_text()


def test_pointing_at_the_map_says_the_value_of_the_cell(visit, here):
    visit.open(here)
    visit.page.locator("#plan-map").scroll_into_view_if_needed()
    level = visit.box("#plan-map path.level")
    # Half-way into the cell whose middle is x 20.25, y 10.25 m, on a level of 40 x 20 m.
    x = level["x"] + 20.25 / 40 * level["width"]
    y = level["y"] + (20 - 10.25) / 20 * level["height"]
    with visit.page.expect_response(re.compile("coverage.json")) as answer:
        visit.page.mouse.move(x, y)
    values = answer.value.json()
    visit.page.locator("#plan-value", has_text="margin").wait_for()
    place = re.match(
        r"x ([\d.]+) m, y ([\d.]+) m, house full: margin ([−\d.]+) dB \(([a-z ]+)\) from (\S+), "
        r"([−\d.]+) dB \(([a-z ]+)\) left when \5 dies, delivery (?:over )?[\d.]+ % \([a-z ]+\)$",
        _value(visit),
    )
    assert place is not None, _value(visit)
    column, row = (int(float(place[i]) / values["step_m"]) for i in (1, 2))
    assert (column, row) == (pytest.approx(40, abs=1), pytest.approx(20, abs=1))  # the frame's pixels are coarser
    cell = row * values["columns"] + column
    assert float(place[3].replace("−", "-")) == values["margin_db"][cell]
    assert place[4] == margin_class(values["margin_db"][cell]).words
    assert place[5] == values["senders"][values["server"][cell]]
    assert float(place[6].replace("−", "-")) == values["second_db"][cell]
    assert place[7] == margin_class(values["second_db"][cell]).words
    visit.refuse_faults("hover")


def test_the_layer_that_is_drawn_is_said_first(visit, here):
    for layer, first in (("second", r"[−\d.]+ dB \([a-z ]+\) left when"), ("delivery", r"delivery [\d.a-z ]+ %")):
        visit.open(f"{here}?layer={layer}&house=empty")
        visit.page.locator("#plan-map").focus()
        visit.page.keyboard.press("ArrowUp")
        visit.page.locator("#plan-value b", has_text=re.compile(f"^{first}")).wait_for()
        assert ", house empty: " in _value(visit)


def test_arrow_keys_read_the_coverage_cell_by_cell(visit, here):
    visit.open(here)
    visit.page.locator("#plan-map").focus()
    visit.page.keyboard.press("ArrowRight")
    visit.page.locator("#plan-value", has_text="x 20.3 m, y 10.3 m").wait_for()
    assert visit.page.locator("#plan-value output").get_attribute("aria-live") == "polite"
    assert visit.page.locator("#plan-map path.cross-hair").count() == 1
    visit.page.keyboard.press("ArrowRight")
    visit.page.locator("#plan-value", has_text="x 20.8 m, y 10.3 m").wait_for()
    visit.page.keyboard.press("ArrowUp")
    visit.page.locator("#plan-value", has_text="x 20.8 m, y 10.8 m").wait_for()
    visit.page.keyboard.press("Shift+ArrowLeft")
    visit.page.locator("#plan-value", has_text="x 15.8 m, y 10.8 m").wait_for()
    for _ in range(6):
        visit.page.keyboard.press("Shift+ArrowDown")
    visit.page.locator("#plan-value", has_text="y 0.3 m").wait_for()
    visit.refuse_faults("keys")


def test_a_tap_says_the_value_too(visit_with, owner, here):
    visit = visit_with("narrow", has_touch=True, is_mobile=True)
    visit.enter(owner)
    visit.open(here)
    visit.page.locator("#plan-map").scroll_into_view_if_needed()
    level = visit.box("#plan-map path.level")
    visit.page.touchscreen.tap(level["x"] + 0.5 * level["width"], level["y"] + 0.3 * level["height"])
    visit.page.locator("#plan-value", has_text="margin").wait_for()
    assert visit.complaints == []


def test_house_and_layer_are_links_that_keep_the_rest(visit, here):
    visit.open(f"{here}?sender=N1")
    visit.page.get_by_role("navigation", name="Layer").get_by_role("link", name="delivery").click()
    visit.page.wait_for_url("**layer=delivery**")
    visit.page.get_by_role("navigation", name="House").get_by_role("link", name="empty").click()
    visit.page.wait_for_url("**house=empty**")
    assert "sender=N1" in visit.page.url
    assert "layer=delivery" in visit.page.url
    assert visit.page.get_by_text("mostly lost").is_visible()


def test_the_crowd_has_an_outline_of_its_own(visit, here):
    visit.open(here)
    crowd = visit.page.locator("#plan-map path.crowd-area")
    assert crowd.count() == 1
    dash = "getComputedStyle(document.querySelector('#plan-map path.{}')).strokeDasharray"
    assert visit.page.evaluate(dash.format("crowd-area")) != visit.page.evaluate(dash.format("zone"))


def test_taking_the_channels_and_the_calibration_by_their_buttons(visit, here):
    visit.open(f"{here}spectrum/")
    visit.page.get_by_role("button", name="Use these radio channels here").click()
    visit.page.get_by_role("status").get_by_text("1 network changed").wait_for()
    visit.page.get_by_role("link", name="calibration", exact=True).click()
    visit.page.get_by_role("button", name="Plan with this calibration").click()
    visit.page.get_by_role("status").get_by_text("The plan is made with calibration 1").wait_for()
    visit.refuse_faults("calibration in use")
    visit.page.get_by_role("button", name="Plan with the tables alone").click()
    visit.page.get_by_role("status").get_by_text("tables alone").wait_for()
    visit.refuse_faults("tables")


NOT_REACHED = """() => [...document.querySelectorAll(
    "a[href], button, summary, input:not([type=hidden]), select, [tabindex='0']")]
    .filter((one) => one.checkVisibility() && !reached.has(one)).map((one) => one.outerHTML.slice(0, 90))"""
NOTE_FOCUS = """() => {
  const one = document.activeElement;
  const isNew = one === document.body || !reached.has(one);
  reached.add(one);
  return [isNew, getComputedStyle(one).outlineStyle, one.outerHTML.slice(0, 90)];
}"""


def test_the_keyboard_reaches_everything_and_shows_where_it_is(visit, here):
    for path in (f"{here}spectrum/", f"{here}calibration/"):
        visit.open(path)
        details = visit.page.locator("main .in-numbers summary").first
        details.focus()
        visit.page.keyboard.press("Enter")
        visit.page.locator("main .in-numbers table").first.wait_for()
        visit.refuse_faults(f"{path} with its numbers")
        visit.page.evaluate("() => { document.activeElement.blur(); window.reached = new Set(); }")
        for _ in range(200):
            visit.page.keyboard.press("Tab")
            is_new, outline, what = visit.page.evaluate(NOTE_FOCUS)
            if not is_new:
                break
            assert outline != "none" or what.startswith("<body"), what
        assert visit.page.evaluate(NOT_REACHED) == [], path


def test_paper_has_drawings_numbers_cautions_and_date_and_nothing_to_click(visit_with, owner, here):
    visit = visit_with("wide")
    visit.enter(owner)
    visit.page.set_viewport_size({"width": A4_WITHIN_MARGINS_PX, "height": 1000})
    visit.page.emulate_media(media="print")
    for path, shown in (
        (f"{here}spectrum/", (".strip", ".channel-plan", ".in-numbers table")),
        (f"{here}calibration/", (".scatter", ".coefficients", ".readings-in-numbers")),
        (f"{here}power/", (".supplies", ".line-diagram", ".outputs")),
        (f"{here}?layer=delivery", ("#plan-drawing", ".legend", "#zones-title")),
    ):
        visit.open(path)
        visit.picture(f"paper{shown[0]}")
        for selector in (*shown, ".cautions", ".provenance", ".fingerprint"):
            assert visit.page.locator(selector).first.is_visible(), f"{path} {selector}"
        assert visit.page.locator("button:visible, nav:visible, input:visible, .in-numbers svg:visible").count() == 0
        assert visit.page.evaluate(TOO_WIDE) == [], path
        assert re.search(r"Worked out on \w{3} \d+ \w+ \d{4}, \d\d:\d\d UTC", visit.page.inner_text(".provenance"))
        assert visit.page.pdf(format="A4").startswith(b"%PDF")
