"""The drawing page as the server makes it: who may open it, what it holds, what it says without a plan."""

import json
import re

import pytest

from showplan.records.models import Level, Placement
from tests.frontend.pages import signed_in, words_of
from tests.tours import a_project, a_venue

pytestmark = pytest.mark.django_db


@pytest.fixture
def address(tour):
    return f"/venues/{tour.venue.pk}/plan/"


def _start(response):
    found = re.search(r'<script id="editor-start" type="application/json">(.*?)</script>', response.content.decode())
    return json.loads(found[1])


@pytest.mark.parametrize("who", ["owner", "editor"])
def test_who_edits_may_draw(address, who, request):
    response = signed_in(request.getfixturevalue(who)).get(address)
    assert response.status_code == 200
    assert "Draw on the plan" in words_of(response)
    assert "private" in response["Cache-Control"]


def test_a_viewer_is_told_which_role_is_missing(address, viewer, owner):
    response = signed_in(viewer).get(address)
    assert response.status_code == 403
    assert re.search(r"role in .Lantern walk. is viewer; .* role owner or editor", words_of(response))
    assert signed_in(owner).get(address).status_code == 200


def test_an_outsider_meets_404(address, outsider):
    assert signed_in(outsider).get(address).status_code == 404


def test_a_stranger_is_asked_to_sign_in(address, client):
    assert client.get(address).url == f"/sign-in/?next={address}"


def test_the_page_only_reads(address, owner, client):
    client.force_login(owner)
    assert client.post(address).status_code == 405


def test_a_level_is_chosen_by_name_and_an_unknown_one_is_404_with_the_known(address, tour, owner):
    client = signed_in(owner)
    gallery = Level.objects.get(name="Gallery")
    assert _start(client.get(address, {"level": "Gallery"}))["level"] == str(gallery.pk)
    assert _start(client.get(address))["level"] == str(tour.venue.levels.get(name="Hall").pk)
    response = client.get(address, {"level": "Roof"})
    assert response.status_code == 404
    assert "there is: Hall, Gallery" in words_of(response)


def test_without_script_there_are_the_drawing_and_the_lists_of_records(address, tour, owner):
    html = signed_in(owner).get(address).content.decode()
    assert '<svg id="plan-drawing"' in html
    for path in ("levels", "walls", "zones", "candidate-sites", "placements"):
        assert f'href="/venues/{tour.venue.pk}/records/{path}/"' in html


def test_it_says_what_the_plan_says_of_hearing_and_law(address, owner):
    html = signed_in(owner).get(address).content.decode()
    assert re.findall(r'data-question="([a-z-]+)"', html) == ["legal-and-quiet", "heard"]


def test_a_venue_without_a_level_offers_the_first(owner):
    venue = a_venue(a_project(owner, "Empty"), owner)
    venue.levels.all().delete()
    response = signed_in(owner).get(f"/venues/{venue.pk}/plan/")
    assert response.status_code == 200
    assert _start(response)["level"] is None
    assert "New level" in words_of(response)


def test_a_venue_that_cannot_be_planned_can_still_be_drawn(address, tour, owner):
    Level.objects.filter(name="Hall").update(clear_height_m=0.5)  # lower than the nodes hang
    response = signed_in(owner).get(address)
    assert response.status_code == 200
    assert "cannot be planned yet" in words_of(response)
    assert Placement.objects.filter(level__name="Hall").exists()


def test_no_markup_of_its_own_carries_style_or_script(address, owner):
    html = signed_in(owner).get(address).content.decode()
    assert not re.search(r"<[^>]+\s(style|on\w+)=", html)
    scripts = re.findall(r"<script([^>]*)>", html)
    assert all("src=" in one or "application/json" in one for one in scripts)


def test_only_who_may_edit_is_shown_the_way_in(tour, owner, viewer, address):
    venue = f"/venues/{tour.venue.pk}/"
    assert address in signed_in(owner).get(venue).content.decode()
    assert address not in signed_in(viewer).get(venue).content.decode()
