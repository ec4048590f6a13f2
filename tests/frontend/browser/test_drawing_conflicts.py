"""Drawing while others draw too, and while the network is away."""

import re

import pytest

from showplan.records.models import Wall
from showplan.services.editing import edit
from tests.tours import by

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


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
