"""Tokens: what they open, when they end, and that nobody can read them again."""

import logging
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from showplan.records.models import Project, Token, User
from tests.api.client import ApiClient, api_for, items, made, problem, token_for
from tests.conftest import Tour
from tests.tours import a_project

pytestmark = pytest.mark.django_db


class Page:
    """Calls of a signed-in page, with its CSRF token."""

    def __init__(self, user: User) -> None:
        self.client = Client(enforce_csrf_checks=True)
        self.client.force_login(user)
        self.csrf = "x" * 32
        self.client.cookies["csrftoken"] = self.csrf

    def post(self, path: str, body: Any, **headers: str) -> Any:
        """POST with the header that a page sends."""
        headers = {"X-CSRFToken": self.csrf} | headers
        return self.client.post(f"/api/v1/{path}", body, content_type="application/json", headers=headers)


@pytest.fixture
def page(owner: User) -> Page:
    """The owner at a page."""
    return Page(owner)


def new_token(page: Page, **values: Any) -> dict[str, Any]:
    """The answer to a page that makes a token."""
    return made(page.post("tokens/", {"name": "night job", "scopes": ["read", "write"]} | values))


def test_a_person_makes_a_token_and_sees_its_text_once(page: Page, tour: Tour) -> None:
    answer = new_token(page, days=3, project=str(tour.project.pk))
    assert answer["token"].startswith(f"spt_{answer['prefix']}_")
    assert (answer["scopes"], answer["project"]) == (["read", "write"], str(tour.project.pk))
    api = ApiClient(answer["token"])
    me = api.get("me/").json()
    assert (me["username"], me["token"]["id"], me["token"]["name"]) == ("odile-owner", answer["id"], "night job")
    shown = [api.get(f"tokens/{answer['id']}/").json(), *items(api.get("tokens/")), me["token"]]
    for one in shown:
        assert {name: value for name, value in answer.items() if name not in ("token", "last_used_at")}.items() <= (
            one.items()
        )
        assert "token" not in one
        assert "secret_hash" not in one


def test_bad_tokens_are_refused_by_field(page: Page, tour: Tour, outsider: User) -> None:
    bad = {"name": "", "scopes": ["rule", "\ud800"], "days": 731, "project": "\ud800", "user": 1}
    response = page.post("tokens/", bad)
    found = {one["pointer"] for one in problem(response, 422)["errors"]}
    assert found == {"/name", "/scopes/0", "/scopes/1", "/days", "/project", "/user"}
    assert problem(page.post("tokens/", {"name": "x", "scopes": []}), 422)["errors"][0]["pointer"] == "/scopes"
    assert problem(page.post("tokens/", {"name": " ", "scopes": ["read"]}), 422)["errors"][0]["pointer"] == "/name"
    theirs = Page(outsider).post("tokens/", {"name": "x", "scopes": ["read"], "project": str(tour.project.pk)})
    problem(theirs, 404)


def test_a_token_cannot_make_another(owner_api: ApiClient) -> None:
    before = Token.objects.count()
    document = problem(owner_api.post("tokens/", {"name": "more", "scopes": ["read"]}), 403, "not-allowed")
    assert "a token cannot make another" in document["detail"]
    assert Token.objects.count() == before


@pytest.mark.parametrize("end", ["revoked", "expired", "inactive", "deleted", "changed"])
def test_an_ended_token_opens_nothing(end: str, tour: Tour, owner: User) -> None:
    text = token_for(owner)
    api, path = ApiClient(text), f"projects/{tour.project.pk}/"
    assert api.get(path).status_code == 200
    match end:
        case "revoked":
            identifier = api.get("me/").json()["token"]["id"]
            assert api.delete(f"tokens/{identifier}/").status_code == 204
        case "expired":
            Token.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
        case "inactive":
            User.objects.update(is_active=False)
        case "deleted":
            Token.objects.all().delete()
        case "changed":
            api = ApiClient(text[:-1] + ("A" if text[-1] != "A" else "B"))
    for response in (api.get(path), api.post("projects/", {"name": "x"}), api.get("me/")):
        assert problem(response, 401, "not-signed-in")["detail"] == "this token is unknown, expired or revoked"


def test_a_token_needs_the_scope_that_the_refusal_names(tour: Tour, owner: User) -> None:
    project, venue = f"projects/{tour.project.pk}/", f"venues/{tour.venue.pk}/"
    calls: dict[str, Any] = {
        "read": lambda api: api.get(f"{project}nodes/"),
        "write": lambda api: api.post(f"{project}crews/", {"name": f"crew {Token.objects.count()}"}),
        "compute": lambda api: api.get(f"{venue}readiness/"),
    }
    for scope in calls:
        api = api_for(owner, scopes=(scope,))
        for needed, call in calls.items():
            response = call(api)
            if needed == scope:
                assert response.status_code in (200, 201), response.content
            else:
                assert f"scope '{needed}'" in problem(response, 403, "not-allowed")["detail"]


def test_a_token_of_one_project_sees_and_starts_no_other(tour: Tour, owner: User) -> None:
    other = a_project(owner, "Second show")
    bound, wide = api_for(owner, project=tour.project), api_for(owner)
    assert [one["name"] for one in items(bound.get("projects/"))] == ["Lantern walk"]
    assert len(items(wide.get("projects/"))) == 2
    for path in ("", "nodes/", "members/", "changes/", "invitations/", "readiness/", "revisions/"):
        problem(bound.get(f"projects/{other.pk}/{path}"), 404)
    problem(bound.post(f"projects/{other.pk}/crews/", {"name": "x"}), 404)
    problem(bound.post("projects/", {"name": "Third show"}), 403)
    assert Project.objects.count() == 2
    own, others = (one.get("me/").json()["token"]["id"] for one in (bound, wide))
    assert [one["id"] for one in items(bound.get("tokens/"))] == [own]
    problem(bound.get(f"tokens/{others}/"), 404)
    problem(bound.delete(f"tokens/{others}/"), 404)


def test_tokens_of_others_are_not_there(owner_api: ApiClient, editor_api: ApiClient, owner: User) -> None:
    theirs = editor_api.get("me/").json()["token"]["id"]
    problem(owner_api.get(f"tokens/{theirs}/"), 404)
    problem(owner_api.delete(f"tokens/{theirs}/"), 404)
    assert theirs not in {one["id"] for one in items(owner_api.get("tokens/"))}
    own = owner_api.get("me/").json()["token"]["id"]
    problem(api_for(owner, scopes=("read",)).delete(f"tokens/{own}/"), 403)
    assert editor_api.get("me/").status_code == 200


def test_a_tokens_text_is_in_no_history_list_or_log(page: Page, tour: Tour, caplog: Any) -> None:
    caplog.set_level(logging.DEBUG)
    answer = new_token(page)
    api, secret = ApiClient(answer["token"]), answer["token"].rpartition("_")[2]
    made(api.post(f"projects/{tour.project.pk}/crews/", {"name": "Rigging"}, Idempotency_Key="one"))
    problem(api.post(f"projects/{tour.project.pk}/crews/", {"name": "Rigging"}), 422)
    shown = [
        caplog.text,
        api.get("tokens/").content.decode(),
        api.get(f"projects/{tour.project.pk}/changes/", {"limit": 1000}).content.decode(),
    ]
    hashed = Token.objects.get(pk=answer["id"]).secret_hash
    assert not any(secret in text or hashed in text for text in shown)


def test_last_use_is_noted_but_not_at_every_call(owner_api: ApiClient) -> None:
    assert owner_api.get("me/").status_code == 200
    first = Token.objects.get().last_used_at
    assert owner_api.get("me/").status_code == 200
    assert first is not None
    assert Token.objects.get().last_used_at == first
    Token.objects.update(last_used_at=first - timedelta(minutes=6))
    assert owner_api.get("me/").status_code == 200
    assert Token.objects.get().last_used_at > first
