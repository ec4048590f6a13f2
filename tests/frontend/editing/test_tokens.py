"""Tokens: shown once, listed with their use, revoked at once."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from showplan.records.models import Token
from showplan.services.tokens import token_behind
from tests.frontend.editing.desk import fill_in, forged
from tests.frontend.pages import signed_in, words_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def made(tour, viewer):
    """The viewer's client and the page that shows their new token."""
    client = signed_in(viewer)
    page = fill_in(client, "/tokens/new/", name="nightly", project=tour.project.pk, days="10")
    return client, page


def test_a_token_is_shown_once_and_works(made, tour, viewer):
    client, page = made
    text = page.context["text"]
    assert text in page.content.decode()
    assert "no-store" in page["Cache-Control"]
    token = token_behind(text)
    assert (token.user, token.project, token.scopes) == (viewer, tour.project, ("read",))
    words = words_of(client.get("/tokens/"))
    assert text not in words
    assert f"nightly spt_{token.prefix} read Lantern walk" in words


def test_the_list_says_when_it_was_used_and_when_it_ends(made):
    client, page = made
    assert "never expires" in words_of(client.get("/tokens/"))
    token_behind(page.context["text"])
    assert "never expires" not in words_of(client.get("/tokens/"))
    Token.objects.update(expires_at=timezone.now() - timedelta(days=1))
    assert "expired" in words_of(client.get("/tokens/"))


def test_a_revoked_token_opens_nothing(made):
    client, page = made
    token = token_behind(page.context["text"])
    assert fill_in(client, f"/tokens/{token.pk}/revoke/").url == "/tokens/"
    assert token_behind(page.context["text"]) is None
    assert "Token nightly is revoked." in words_of(client.get("/tokens/"))


def test_faults_stand_beside_their_fields(tour, viewer, owner):
    client = signed_in(viewer)
    page = fill_in(client, "/tokens/new/", name="nightly", scopes=None, days="9999")
    assert "Choose at least one." in words_of(page)
    page = fill_in(client, "/tokens/new/", name="nightly", days="9999")
    assert "Must be from 1 to 730, not 9999." in words_of(page)
    assert not Token.objects.exists()


def test_other_peoples_tokens_and_projects_are_not_there(made, tour, outsider):
    token = Token.objects.get()
    client = signed_in(outsider)
    assert client.get(f"/tokens/{token.pk}/revoke/").status_code == 404
    assert forged(client, f"/tokens/{token.pk}/revoke/").status_code == 404
    assert "nightly" not in words_of(client.get("/tokens/"))
    page = fill_in(client, "/tokens/new/", name="mine", project=tour.project.pk)
    assert "Choose one from the list." in words_of(page)
    token.refresh_from_db()
    assert token.revoked_at is None


def test_a_stranger_is_asked_to_sign_in(made):
    token = Token.objects.get()
    for address in ("/tokens/", "/tokens/new/", f"/tokens/{token.pk}/revoke/"):
        assert Client().get(address).url == f"/sign-in/?next={address}"
