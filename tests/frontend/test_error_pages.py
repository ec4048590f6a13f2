"""Our own pages for what went wrong, and the header that keeps foreign script out."""

import pytest
from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.template.loader import render_to_string
from django.test import Client, RequestFactory

from frontend.views.page import page
from showplan.services.errors import NotAllowed, NotFound
from tests.frontend.pages import signed_in, words_of

pytestmark = pytest.mark.django_db


def test_an_address_that_is_nowhere(owner):
    for client in (Client(), signed_in(owner)):
        response = client.get("/no/such/page/")
        assert response.status_code == 404
        assert "Not here" in words_of(response)


def test_a_service_that_says_no_becomes_the_right_status():
    request = RequestFactory().get("/")

    def raising(error: Exception):
        def view(_request):
            raise error

        return page(view)

    with pytest.raises(Http404, match=r"There is no venue 7\."):
        raising(NotFound("there is no venue 7"))(request)
    with pytest.raises(PermissionDenied, match=r"Your role is viewer\."):
        raising(NotAllowed("your role is viewer"))(request)


def test_the_page_for_a_refusal_says_why():
    html = render_to_string("403.html", {"exception": "Your role is viewer."})
    assert "Not allowed" in html
    assert "Your role is viewer." in html


def test_the_page_for_our_own_faults_needs_nothing_from_the_request(monkeypatch, owner):
    def broken(*_args, **_kwargs):
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr("frontend.views.reference.reference_page", broken)
    client = signed_in(owner)
    client.raise_request_exception = False
    response = client.get("/reference/")
    assert response.status_code == 500
    assert "Something broke" in words_of(response)
    assert "a fault of ours" not in words_of(response)


def test_no_page_carries_inline_script_or_style(tour, owner):
    client = signed_in(owner)
    for address in ("/", f"/projects/{tour.project.pk}/", f"/venues/{tour.venue.pk}/", "/formulas/", "/nowhere/"):
        response = client.get(address)
        html = response.content.decode()
        assert "default-src 'self'" in response["Content-Security-Policy"]
        assert " style=" not in html
        assert "<style" not in html
        assert " onclick=" not in html
        assert "http://" not in html.replace("http://www.w3.org/", "")
        assert "https://" not in html
