"""Who may change records: everybody else is told why not, or meets nothing."""

import pytest

from showplan.records.models import Wall
from showplan.services.nouns import NOUNS
from tests.frontend.editing.desk import forged, lists_of
from tests.frontend.pages import signed_in, words_of
from tests.tours import a_venue

pytestmark = pytest.mark.django_db


def changing(tour) -> list[str]:
    """Every page that changes a wall."""
    base = lists_of(tour)["walls"]
    wall = Wall.objects.get(label="W1")
    return [f"{base}new/", f"{base}{wall.pk}/", f"{base}{wall.pk}/delete/"]


def test_an_editor_may(tour, desk):
    for address in changing(tour):
        assert desk.get(address).status_code == 200, address


def test_a_viewer_is_told_which_role_it_takes(tour, viewer):
    client = signed_in(viewer)
    for address in changing(tour):
        for answer in (client.get(address), forged(client, address, version="1", label="X")):
            assert answer.status_code == 403, address
            assert "this needs the role owner or editor" in words_of(answer)
    assert Wall.objects.count() == 2


def test_a_viewer_sees_lists_and_history_without_ways_to_change(tour, viewer):
    client = signed_in(viewer)
    for noun in NOUNS:
        html = client.get(lists_of(tour)[noun.path]).content.decode()
        assert "/new/" not in html, noun.path
        assert "/delete/" not in html, noun.path
    base, wall = lists_of(tour)["walls"], Wall.objects.get(label="W1")
    page = client.get(f"{base}{wall.pk}/history/")
    assert "Created" in words_of(page)
    assert "Undo" not in words_of(page)


def test_an_outsider_meets_404(tour, outsider):
    client = signed_in(outsider)
    base, wall = lists_of(tour)["walls"], Wall.objects.get(label="W1")
    for address in [*changing(tour), base, f"{base}{wall.pk}/history/"]:
        assert client.get(address).status_code == 404, address
        assert forged(client, address, version="1").status_code in (404, 405), address


def test_a_stranger_is_asked_to_sign_in(tour, client):
    for address in changing(tour):
        assert client.get(address).url.startswith("/sign-in/?next="), address
        assert client.post(address, {"version": "1"}).url.startswith("/sign-in/?next="), address


def test_a_record_of_another_venue_is_not_here(tour, desk, owner):
    other = a_venue(tour.project, owner, "Town barn")
    wall = Wall.objects.filter(level__venue=other).first()
    assert desk.get(f"{lists_of(tour)['walls']}{wall.pk}/").status_code == 404
    assert desk.get(f"/venues/{tour.venue.pk}/records/crews/").status_code == 404
    assert desk.get(f"/venues/{tour.venue.pk}/records/plinths/").status_code == 404
