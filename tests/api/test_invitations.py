"""Invitations: accepted once, by whom it is not a member yet, while they are open."""

import logging
from datetime import timedelta
from typing import Any

import pytest
from django.core.cache import cache
from django.utils import timezone

from showplan.records.models import Change, Crew, Invitation, Membership, Project, User
from tests.api.at_once import all_at_once
from tests.api.client import ApiClient, api_for, items, made, pointers, problem
from tests.conftest import Tour
from tests.tours import a_user

pytestmark = pytest.mark.django_db
ACCEPT = "invitations/accept/"


@pytest.fixture
def invitations(tour: Tour) -> str:
    """The address of the tour's invitations."""
    return f"projects/{tour.project.pk}/invitations/"


def test_an_invitation_makes_a_member_once(
    invitations: str, tour: Tour, owner_api: ApiClient, outsider_api: ApiClient, outsider: User
) -> None:
    crew = str(Crew.objects.get(project=tour.project).pk)
    response = owner_api.post(invitations, {"role": "editor", "crew": crew, "days": 2})
    invitation = made(response)
    assert (invitation["role"], invitation["crew"], invitation["accepted_at"]) == ("editor", crew, None)
    member = made(outsider_api.post(ACCEPT, {"secret": invitation["secret"]}))
    assert (member["user"], member["role"], member["crew"]) == (str(outsider.pk), "editor", crew)
    assert outsider_api.get(f"projects/{tour.project.pk}/").status_code == 200
    used = owner_api.get(response["Location"]).json()
    assert used["accepted_by"] == str(outsider.pk)
    assert "secret" not in used
    problem(api_for(a_user()).post(ACCEPT, {"secret": invitation["secret"]}), 404, "not-found")
    problem(outsider_api.post(ACCEPT, {"secret": invitation["secret"]}), 404, "not-found")


def test_a_closed_invitation_opens_nothing(invitations: str, owner_api: ApiClient, outsider_api: ApiClient) -> None:
    expired = made(owner_api.post(invitations, {"role": "viewer"}))
    Invitation.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    withdrawn = made(owner_api.post(invitations, {"role": "viewer"}))
    address = f"{invitations}{withdrawn['id']}/"
    problem(owner_api.delete(address), 428)
    assert problem(owner_api.delete(address, 7), 412)["current"]["version"] == 1
    assert owner_api.delete(address, 1).status_code == 204
    for secret in (expired["secret"], withdrawn["secret"], "guess", "x" * 200):
        problem(outsider_api.post(ACCEPT, {"secret": secret}), 404, "not-found")
    assert pointers(outsider_api.post(ACCEPT, {"secret": "x" * 201})) == ["/secret"]
    assert pointers(outsider_api.post(ACCEPT, {"secret": ""})) == ["/secret"]
    assert pointers(outsider_api.post(ACCEPT, {"secret": 5})) == ["/secret"]


def test_a_member_cannot_accept_and_the_link_stays_open(invitations: str, owner_api, viewer_api, outsider_api) -> None:
    secret = made(owner_api.post(invitations, {"role": "owner"}))["secret"]
    assert "already" in problem(viewer_api.post(ACCEPT, {"secret": secret}), 409, "rule-broken")["detail"]
    assert made(outsider_api.post(ACCEPT, {"secret": secret}))["role"] == "owner"


def test_invitations_are_for_owners(invitations: str, owner_api, editor_api, viewer_api, outsider_api) -> None:
    one = made(owner_api.post(invitations, {"role": "viewer"}))
    for api, status in ((editor_api, 403), (viewer_api, 403), (outsider_api, 404)):
        for response in (
            api.get(invitations),
            api.post(invitations, {"role": "viewer"}),
            api.get(f"{invitations}{one['id']}/"),
            api.delete(f"{invitations}{one['id']}/", 1),
        ):
            problem(response, status)
    assert pointers(owner_api.post(invitations, {"role": "boss", "days": 31, "colour": 1})) == [
        "/colour",
        "/days",
        "/role",
    ]
    assert pointers(owner_api.post(invitations, {"role": "viewer", "days": 0, "crew": one["id"]})) == ["/crew", "/days"]


def test_a_token_needs_its_scope_and_its_project(invitations: str, owner_api: ApiClient, outsider: User) -> None:
    secret = made(owner_api.post(invitations, {"role": "viewer"}))["secret"]
    reader = api_for(outsider, scopes=("read", "compute"))
    assert "scope 'write'" in problem(reader.post(ACCEPT, {"secret": secret}), 403)["detail"]
    own = made(api_for(outsider).post("projects/", {"name": "Own show"}))
    bound = api_for(outsider, project=Project.objects.get(pk=own["id"]))
    assert "bound to one project" in problem(bound.post(ACCEPT, {"secret": secret}), 403)["detail"]
    problem(ApiClient().post(ACCEPT, {"secret": secret}), 401)
    assert Membership.objects.filter(user=outsider).count() == 1


def test_secrets_are_in_no_history_list_or_log(
    invitations: str, tour: Tour, owner_api: ApiClient, outsider_api: ApiClient, caplog: Any
) -> None:
    caplog.set_level(logging.DEBUG)
    answers = [owner_api.post(invitations, {"role": "viewer"}) for _ in range(2)]
    secrets = [made(one)["secret"] for one in answers]
    made(outsider_api.post(ACCEPT, {"secret": secrets[0]}))
    problem(outsider_api.post(ACCEPT, {"secret": secrets[1]}), 409)
    shown = [
        owner_api.get(invitations).content.decode(),
        owner_api.get(answers[0]["Location"]).content.decode(),
        owner_api.get(f"projects/{tour.project.pk}/changes/", {"limit": 1000}).content.decode(),
        str(list(Change.objects.values())),
        caplog.text,
    ]
    hashes = list(Invitation.objects.values_list("secret_hash", flat=True))
    for text in shown:
        assert not any(secret in text for secret in (*secrets, *hashes))
        assert "secret" not in text


def test_guessing_is_slowed_down(outsider_api: ApiClient) -> None:
    cache.clear()
    answers = [outsider_api.post(ACCEPT, {"secret": f"guess {number}"}) for number in range(31)]
    cache.clear()
    assert [one.status_code for one in answers] == [404] * 30 + [429]
    problem(answers[-1], 429, "too-many-requests")
    assert 1 <= int(answers[-1]["Retry-After"]) <= 61


@pytest.mark.django_db(transaction=True)
def test_of_two_people_with_one_link_one_becomes_a_member(invitations: str, tour: Tour, owner_api: ApiClient) -> None:
    secret = made(owner_api.post(invitations, {"role": "viewer"}))["secret"]
    apis = [api_for(a_user()) for _ in range(3)]
    calls = [lambda api=api: api.post(ACCEPT, {"secret": secret}) for api in apis]
    assert sorted(one.status_code for one in all_at_once(calls)) == [201, 404, 404]
    assert Membership.objects.filter(project=tour.project).count() == 4
    assert [one["role"] for one in items(owner_api.get(invitations))] == ["viewer"]
