"""Who may see which page."""

import uuid

import pytest
from django.test import Client

from tests.frontend.pages import OPEN_TO_ALL_WHO_SIGNED_IN, pages_of, pages_with_buttons_of, signed_in, words_of

pytestmark = pytest.mark.django_db


def test_a_stranger_is_asked_to_sign_in_and_comes_back_to_the_page(tour):
    for address in [*pages_of(tour.venue), *pages_with_buttons_of(tour.venue), *OPEN_TO_ALL_WHO_SIGNED_IN]:
        response = Client().get(address)
        assert (response.status_code, response.url) == (302, f"/sign-in/?next={address}")


@pytest.mark.parametrize("who", ["owner", "editor", "viewer"])
def test_every_member_sees_every_page(tour, who, request):
    client = signed_in(request.getfixturevalue(who))
    for address in [*pages_of(tour.venue), *pages_with_buttons_of(tour.venue), *OPEN_TO_ALL_WHO_SIGNED_IN]:
        response = client.get(address)
        assert response.status_code == 200, address
        assert "private" in response["Cache-Control"]


def test_an_outsider_meets_404_as_if_nothing_were_there(tour, outsider):
    client = signed_in(outsider)
    for address in [*pages_of(tour.venue), *pages_with_buttons_of(tour.venue)]:
        response = client.get(address)
        assert response.status_code == 404, address
        assert tour.project.name not in words_of(response)
    assert "You are in no project yet" in words_of(client.get("/"))


def test_an_unknown_project_or_venue_is_404_in_plain_words(owner):
    client, nobody = signed_in(owner), uuid.uuid4()
    for noun in ("project", "venue"):
        response = client.get(f"/{noun}s/{nobody}/")
        assert response.status_code == 404
        assert f"There is no {noun} {nobody}." in words_of(response)


def test_pages_only_read(tour, owner):
    client = Client()  # without the check for forged forms, so that the refusal is the page's own
    client.force_login(owner)
    for address in [*pages_of(tour.venue), *OPEN_TO_ALL_WHO_SIGNED_IN]:
        assert client.post(address).status_code == 405, address
    revision = tour.project.revision
    tour.project.refresh_from_db()
    assert tour.project.revision == revision
