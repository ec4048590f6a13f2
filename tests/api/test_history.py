"""The history: every write in it once, with what differs, who did it and through which door."""

import re
from typing import Any

import pytest

from showplan.records.models import Level, User, Wall
from showplan.services.nouns import NOUNS, Noun
from tests.api.bodies import Given, change_to, new_body
from tests.api.client import ApiClient, items, made, problem, token_for
from tests.api.test_tokens import Page
from tests.conftest import Tour

pytestmark = pytest.mark.django_db


def changes(api: ApiClient, project: str, **query: Any) -> list[dict[str, Any]]:
    """The project's changes, oldest first."""
    return items(api.get(f"projects/{project}/changes/", {"limit": 1000} | query))


@pytest.mark.parametrize("noun", NOUNS, ids=lambda noun: noun.path)
def test_every_write_of_every_noun_is_there(noun: Noun, given: Given, editor: User, editor_api: ApiClient) -> None:
    collection = given.collection(noun)
    record = made(editor_api.post(collection, new_body(noun, given, 1)))
    changed = editor_api.patch(f"{collection}{record['id']}/", change_to(noun), 1).json()
    assert editor_api.delete(f"{collection}{record['id']}/", 2).status_code == 204
    created, updated, deleted = changes(editor_api, given.project, record_id=record["id"])
    assert [one["action"] for one in (created, updated, deleted)] == ["created", "updated", "deleted"]
    for one in (created, updated, deleted):
        assert one["record_kind"] == noun.model.__name__
        assert (one["actor_name"], one["via"]) == ("edgar-editor", "token script")
        assert (one["venue"] == given.venue) == (noun.parent == "venue")
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT[\d:.]+Z", created["at"])
    revisions = [one["revision"] for one in (created, updated, deleted)]
    assert revisions == list(range(revisions[0], revisions[0] + 3))
    columns = {field.name: field.attname for field in noun.fields}
    assert created["before"] == deleted["after"] == {}
    for name in change_to(noun):
        assert updated["before"][columns[name]] == record[name]
        assert updated["after"][columns[name]] == changed[name]
    assert set(updated["after"]) == {columns[name] for name in change_to(noun)}
    for shown, values in ((created["after"], record), (deleted["before"], changed)):
        for name in set(columns) - {"taken_at"}:
            assert shown[columns[name]] == values[name], name


def test_what_goes_with_a_deleted_record_is_there_too(given: Given, editor_api: ApiClient) -> None:
    level = Level.objects.get(name="Hall")
    address = f"venues/{given.venue}/levels/{level.pk}/"
    assert editor_api.delete(address, level.version).status_code == 204
    revision = changes(editor_api, given.project)[-1]["revision"]
    rows = changes(editor_api, given.project, revision=revision)
    kinds = {one["record_kind"] for one in rows}
    assert kinds == {"Level", "Wall", "Zone", "CandidateSite", "Placement"}
    assert {one["action"] for one in rows} == {"deleted"}
    crews = f"projects/{given.project}/crews/"
    [crew] = items(editor_api.get(crews))
    assert editor_api.delete(f"{crews}{crew['id']}/", crew["version"]).status_code == 204
    rows = changes(editor_api, given.project, revision=revision + 1)
    loosened = [one for one in rows if one["action"] == "updated"]
    assert {(one["before"]["crew_id"], one["after"]["crew_id"]) for one in loosened} == {(crew["id"], None)}
    assert len(loosened) == 8


def test_a_bulk_write_is_one_revision(given: Given, editor_api: ApiClient) -> None:
    crews = f"projects/{given.project}/crews/"
    answer = editor_api.post(f"{crews}bulk/", {"create": [{"name": "a"}, {"name": "b"}]}).json()
    rows = changes(editor_api, given.project, revision=answer["revision"])
    assert [one["record_name"] for one in rows] == ["a", "b"]
    assert editor_api.get(f"projects/{given.project}/revisions/").json()["revision"] == answer["revision"]


def test_the_door_is_the_page_or_the_token_by_its_name(tour: Tour, owner: User, owner_api: ApiClient) -> None:
    crews = f"projects/{tour.project.pk}/crews/"
    long = "x" * 80  # the longest name a token may have; the history's column is shorter
    for number, name in enumerate(("night job", "Ströme & mehr", long)):
        made(ApiClient(token_for(owner, name=name)).post(crews, {"name": f"crew {number}"}))
    made(Page(owner).post(crews, {"name": "by hand"}))
    doors = [one["via"] for one in changes(owner_api, str(tour.project.pk))][-4:]
    assert doors[:2] == ["token night job", "token Ströme & mehr"]
    assert f"token {long}".startswith(doors[2])
    assert len(doors[2]) > 30
    assert doors[3] == "page"


def test_what_is_refused_or_changes_nothing_is_not_there(given: Given, owner_api: ApiClient, viewer_api) -> None:
    wall = Wall.objects.get(label="W1")
    address = f"venues/{given.venue}/walls/{wall.pk}/"
    before = changes(owner_api, given.project)
    same = owner_api.patch(address, {"height_m": 4.0, "material": "brick-200"}, 1)
    assert (same.status_code, same["ETag"]) == (200, '"1"')
    problem(owner_api.patch(address, {"height_m": -1}, 1), 422)
    problem(owner_api.patch(address, {"height_m": 1}, 9), 412)
    problem(viewer_api.patch(address, {"height_m": 1}, 1), 403)
    assert changes(owner_api, given.project) == before


def test_the_history_is_for_members_and_can_be_narrowed(given: Given, viewer_api, outsider_api) -> None:
    everything = changes(viewer_api, given.project)
    assert [one["id"] for one in everything] == sorted(one["id"] for one in everything)
    wall = str(Wall.objects.get(label="W1").pk)
    assert changes(viewer_api, given.project, record_id=wall) == [one for one in everything if one["record_id"] == wall]
    assert changes(viewer_api, given.project, revision=10**8) == []
    problem(outsider_api.get(f"projects/{given.project}/changes/"), 404)
    problem(viewer_api.get(f"projects/{given.project}/changes/", {"actor": "x"}), 400, "bad-parameter")
