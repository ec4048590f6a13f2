"""Signing in and out, and what happens when a form is forged."""

import re

import pytest
from django.test import Client

from tests.conftest import PASSWORD
from tests.frontend.pages import signed_in, words_of

pytestmark = pytest.mark.django_db


def _token(html: str) -> str:
    found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', html)
    assert found is not None
    return found[1]


def test_signing_in_leads_to_the_page_that_was_asked_for(tour, owner):
    client = Client(enforce_csrf_checks=True)
    page = client.get("/sign-in/", {"next": "/reference/"})
    form = {
        "csrfmiddlewaretoken": _token(page.content.decode()),
        "username": owner.username,
        "password": PASSWORD,
        "next": "/reference/",
    }
    response = client.post("/sign-in/", form)
    assert (response.status_code, response.url) == (302, "/reference/")
    assert owner.username in words_of(client.get("/"))


def test_a_wrong_password_is_told_and_nobody_is_signed_in(owner):
    client = Client(enforce_csrf_checks=True)
    token = _token(client.get("/sign-in/").content.decode())
    form = {"csrfmiddlewaretoken": token, "username": owner.username, "password": "wrong"}
    response = client.post("/sign-in/", form)
    assert response.status_code == 200
    assert "correct username and password" in words_of(response)
    assert client.get("/").status_code == 302


def test_signing_out_takes_a_form_not_a_link(owner):
    client = signed_in(owner)
    assert client.get("/sign-out/").status_code == 405
    token = _token(client.get("/").content.decode())
    response = client.post("/sign-out/", {"csrfmiddlewaretoken": token})
    assert (response.status_code, response.url) == (302, "/sign-in/")
    assert client.get("/").status_code == 302


def test_a_forged_form_is_refused_in_plain_words(owner):
    response = signed_in(owner).post("/sign-out/")
    assert response.status_code == 403
    assert "Please send that again" in words_of(response)


def test_sign_in_never_leads_to_another_site(owner):
    client = Client(enforce_csrf_checks=True)
    token = _token(client.get("/sign-in/").content.decode())
    form = {
        "csrfmiddlewaretoken": token,
        "username": owner.username,
        "password": PASSWORD,
        "next": "https://example.org/",
    }
    assert client.post("/sign-in/", form).url == "/"
