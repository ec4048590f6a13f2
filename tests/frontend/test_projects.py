"""The list of projects and the page of one."""

import pytest

from showplan.records.models import Level
from showplan.services.editing import edit
from tests.frontend.pages import signed_in, words_of
from tests.tours import a_project, a_user, a_venue, by

pytestmark = pytest.mark.django_db


def test_the_list_has_the_users_projects_and_nobody_elses(tour, viewer):
    a_project(a_user("somebody"), "Secret parade")
    words = words_of(signed_in(viewer).get("/"))
    assert "Lantern walk 1 venue, 10 nodes. Your role: viewer." in words
    assert "Secret parade" not in words


def test_the_project_shows_each_venue_against_the_seven_questions(tour, owner):
    response = signed_in(owner).get(f"/projects/{tour.project.pk}/")
    words, html = words_of(response), response.content.decode()
    assert "Corn hall United States Sat 3 Oct 2026 to Sun 4 Oct 2026" in words
    assert "Is it legal and quiet here?" in words
    assert "Does the tour fit in the truck?" in words
    assert "not yet" in words
    assert f'href="/venues/{tour.venue.pk}/#q-legal-and-quiet"' in html
    assert f"Revision {tour.project.revision}" in words


def test_the_project_shows_people_and_kit(tour, owner):
    words = words_of(signed_in(owner).get(f"/projects/{tour.project.pk}/"))
    assert "edgar-editor (editor), odile-owner (owner), vera-viewer (viewer)" in words
    assert "Costume nobody yet" in words
    assert "gateways 1 relays 1 receivers 8" in words
    assert "loads 12 batteries 8 mains supplies 0" in words


def test_venues_stand_in_the_order_of_the_tour(tour, owner):
    a_venue(tour.project, owner, "Annexe")  # no date: last, though first by name
    words = words_of(signed_in(owner).get(f"/projects/{tour.project.pk}/"))
    assert words.index("Corn hall") < words.index("Annexe")
    assert "no date yet" in words


def test_a_venue_that_cannot_be_planned_does_not_hide_the_others(tour, owner):
    broken = a_venue(tour.project, owner, "Barn")
    # Behind the services' back: a table of materials that has lost a row.
    Level.objects.filter(venue=broken).update(floor_material="straw")
    response = signed_in(owner).get(f"/projects/{tour.project.pk}/")
    assert "cannot be planned: 1 to fix in its records" in words_of(response)
    assert "Corn hall" in words_of(response)
    page = signed_in(owner).get(f"/venues/{broken.pk}/")
    assert page.status_code == 200
    assert "'straw' is not in the table of materials" in words_of(page)
    assert signed_in(owner).get(f"/venues/{broken.pk}/scene.json").status_code == 404


def test_an_empty_project_says_so(owner):
    project = a_project(owner, "Not begun")
    assert "No venue yet." in words_of(signed_in(owner).get(f"/projects/{project.pk}/"))


def test_names_are_shown_as_text_never_as_markup(owner):
    project = a_project(owner, "<b>Loud</b>")
    with edit(project, by(owner)) as change:
        change.update(project, {"note": "<script>alert(1)</script>"})
    html = signed_in(owner).get(f"/projects/{project.pk}/").content.decode()
    assert "<b>Loud" not in html
    assert "<script>alert" not in html


def test_kit_that_a_region_forbids_is_told_for_each_venue_before_it_is_placed(tour, owner):
    page = f"/projects/{tour.project.pk}/"
    assert "limits along the tour" not in words_of(signed_in(owner).get(page))
    a_venue(tour.project, owner, "Guildhall", region="eu")
    a_venue(tour.project, owner, "Ferry terminal", region="other")
    with edit(tour.project, by(owner)) as change:
        sort = tour.project.node_types.first()
        sort.project = tour.project
        change.update(sort, {"transmit_power_dbm": 17.0})
    words = words_of(signed_in(owner).get(page))
    told = words[words.index("The kit against the limits along the tour") :]
    # EU 2.4 GHz: 10 dBm/MHz, 13.010 dBm for a flat 2 MHz (EN 300 328, as in the region table): 4.0 dB over
    assert "Guildhall , European Union and CEPT countries" in told
    assert f"{sort.name} radiates 17.0 dBm EIRP, 4.0 dB over the limit." in told
    assert "There is no table of limits for" in told
    assert "Corn hall" not in told
