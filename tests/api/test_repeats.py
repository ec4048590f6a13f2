"""Idempotency-Key: a POST that is sent twice has one effect."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from showplan.records.models import Change, Crew, Invitation, KeptAnswer, Project, User
from showplan.services import repeats
from showplan.services.nouns import NOUNS
from tests.api.at_once import all_at_once
from tests.api.bodies import Given, new_body
from tests.api.client import ApiClient, api_for, made, problem, token_for
from tests.conftest import Tour

pytestmark = pytest.mark.django_db
KEY = {"Idempotency_Key": "monday-1"}


@pytest.fixture
def crews(tour: Tour) -> str:
    """An address that takes POST with {"name": ...}."""
    return f"projects/{tour.project.pk}/crews/"


@pytest.mark.parametrize("noun", NOUNS, ids=lambda noun: noun.path)
def test_the_same_call_again_gets_the_first_answer(noun, given: Given, owner_api: ApiClient) -> None:
    address, body = given.collection(noun), new_body(noun, given, 1)
    first = owner_api.post(address, body, **KEY)
    rows = Change.objects.count()
    again = owner_api.post(address, body, **KEY)
    assert (made(again), again["ETag"], again["Location"]) == (made(first), first["ETag"], first["Location"])
    assert (first.get("Idempotency-Replayed"), again["Idempotency-Replayed"]) == (None, "true")
    bulk = {"create": [new_body(noun, given, 2)]}
    answers = [owner_api.post(f"{address}bulk/", bulk, Idempotency_Key="bulk") for _ in range(3)]
    assert [one.status_code for one in answers] == [200] * 3
    assert answers[0].json() == answers[1].json() == answers[2].json()
    assert Change.objects.count() == rows + 1


def test_another_call_under_the_same_key_is_refused(crews: str, tour: Tour, owner_api: ApiClient) -> None:
    made(owner_api.post(crews, {"name": "a"}, **KEY))
    for path, body in (
        (crews, {"name": "b"}),
        (f"{crews}bulk/", {"create": [{"name": "a"}]}),
        ("projects/", {"name": "a"}),
        (f"projects/{tour.project.pk}/invitations/", {"role": "viewer"}),
    ):
        problem(owner_api.post(path, body, **KEY), 422, "key-of-another-call")
    assert Crew.objects.filter(project=tour.project).count() == 2
    assert made(owner_api.post(crews, {"name": "a"}, **KEY))["name"] == "a"


def test_a_key_belongs_to_one_caller(crews: str, tour: Tour, owner: User, owner_api, editor_api) -> None:
    made(owner_api.post(crews, {"name": "a"}, **KEY))
    made(editor_api.post(crews, {"name": "b"}, **KEY))
    made(api_for(owner).post(crews, {"name": "c"}, **KEY))  # another token of the same user
    assert Crew.objects.filter(project=tour.project).count() == 4


def test_a_refused_call_may_be_sent_again_under_its_key(crews: str, owner_api: ApiClient, viewer_api) -> None:
    taken = {"name": "Costume"}
    for _ in range(2):
        problem(owner_api.post(crews, taken, **KEY), 422, "invalid-input")
        problem(viewer_api.post(crews, {"name": "a"}, **KEY), 403)
        problem(owner_api.send("POST", crews, "{", **KEY), 400)
    assert not KeptAnswer.objects.exists()
    Crew.objects.all().delete()
    assert made(owner_api.post(crews, taken, **KEY))["name"] == "Costume"


def test_a_call_that_is_under_way_is_not_started_again(crews: str, tour: Tour, owner_api: ApiClient) -> None:
    made(owner_api.post(crews, {"name": "a"}, **KEY))
    KeptAnswer.objects.update(status=None)
    response = owner_api.post(crews, {"name": "a"}, **KEY)
    problem(response, 409, "call-under-way")
    assert response["Retry-After"] == "1"
    problem(owner_api.post(crews, {"name": "b"}, **KEY), 422, "key-of-another-call")
    # A first call that never ended, because its process died, does not hold the key for ever.
    KeptAnswer.objects.update(created_at=timezone.now() - repeats.LONGEST_CALL - timedelta(seconds=1))
    assert made(owner_api.post(crews, {"name": "b"}, **KEY))["name"] == "b"


def test_an_answer_is_kept_for_a_day(crews: str, tour: Tour, owner_api: ApiClient) -> None:
    made(owner_api.post(crews, {"name": "a"}, **KEY))
    KeptAnswer.objects.update(created_at=timezone.now() - repeats.KEPT_FOR + timedelta(minutes=1))
    assert "Idempotency-Replayed" in owner_api.post(crews, {"name": "a"}, **KEY)
    KeptAnswer.objects.update(created_at=timezone.now() - repeats.KEPT_FOR - timedelta(minutes=1))
    problem(owner_api.post(crews, {"name": "a"}, **KEY), 422, "invalid-input")  # a call of its own: the name is taken


def test_who_is_removed_gets_no_kept_answer(crews: str, tour: Tour, editor: User, owner_api: ApiClient) -> None:
    api = api_for(editor)
    made(api.post(crews, {"name": "a"}, **KEY))
    tour.project.memberships.filter(user=editor).delete()
    problem(api.post(crews, {"name": "a"}, **KEY), 404, "not-found")


def test_a_repeated_invitation_is_one_and_its_secret_is_not_kept(tour: Tour, owner_api: ApiClient) -> None:
    address = f"projects/{tour.project.pk}/invitations/"
    first = made(owner_api.post(address, {"role": "viewer"}, **KEY))
    again = made(owner_api.post(address, {"role": "viewer"}, **KEY))
    assert again == {name: value for name, value in first.items() if name != "secret"}
    assert Invitation.objects.count() == 1
    assert not any(first["secret"] in kept.body for kept in KeptAnswer.objects.all())


def test_a_project_and_an_undo_are_repeated_once(tour: Tour, owner_api: ApiClient) -> None:
    names = [made(owner_api.post("projects/", {"name": "Twice"}, **KEY))["id"] for _ in range(2)]
    assert names[0] == names[1]
    assert Project.objects.filter(name="Twice").count() == 1
    crew = made(owner_api.post(f"projects/{tour.project.pk}/crews/", {"name": "a"}))
    revision = Project.objects.get(pk=tour.project.pk).revision
    undo = f"projects/{tour.project.pk}/undo/"
    answers = [owner_api.post(undo, {"revision": revision}, Idempotency_Key="undo").json() for _ in range(2)]
    assert answers == [{"revision": revision + 1}] * 2
    assert not Crew.objects.filter(pk=crew["id"]).exists()


@pytest.mark.django_db(transaction=True)
def test_of_two_calls_at_once_one_has_the_effect(tour: Tour, owner: User, crews: str) -> None:
    token = token_for(owner)
    calls: list[Any] = [lambda: ApiClient(token).post(crews, {"name": "Rigging"}, **KEY)] * 4
    answers = all_at_once(calls)
    assert Crew.objects.filter(name="Rigging").count() == 1
    assert Change.objects.filter(record_kind="Crew", record_name="Rigging").count() == 1
    first = [one for one in answers if one.status_code == 201 and "Idempotency-Replayed" not in one]
    assert len(first) == 1
    for response in answers:
        if response.status_code == 201:
            assert response.json() == first[0].json()
        else:
            problem(response, 409, "call-under-way")
            assert response["Retry-After"] == "1"
    assert made(ApiClient(token).post(crews, {"name": "Rigging"}, **KEY)) == first[0].json()
