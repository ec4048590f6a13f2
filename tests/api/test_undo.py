"""Undoing a revision: as a new revision, whole or not at all."""

from typing import Any

import pytest

from showplan.records.models import Change, Crew, Level, Membership, Node, NodeType, Placement, User, Venue, Wall
from showplan.services.nouns import NOUNS, Noun
from tests.api.bodies import Given, change_to, new_body
from tests.api.client import ApiClient, items, made, pointers, problem
from tests.conftest import Tour

pytestmark = pytest.mark.django_db


def now_at(given: Given, api: ApiClient) -> int:
    """The project's revision."""
    found: int = api.get(f"projects/{given.project}/revisions/").json()["revision"]
    return found


def undo(given: Given, api: ApiClient, revision: int | None = None) -> int:
    """Undo a revision, the latest one by default; the new revision."""
    latest = now_at(given, api)
    response = api.post(f"projects/{given.project}/undo/", {"revision": revision or latest})
    assert response.status_code == 200, response.content
    assert response.json() == {"revision": latest + 1}
    return latest + 1


def refusal(given: Given, api: ApiClient, revision: int, status: int = 409) -> str:
    """Why a revision is not undone."""
    before = now_at(given, api)
    response = api.post(f"projects/{given.project}/undo/", {"revision": revision})
    document = problem(response, status, "rule-broken" if status == 409 else None)
    assert now_at(given, api) == before
    return str(document["detail"])


def values(record: dict[str, Any]) -> dict[str, Any]:
    """A record without what every write moves."""
    return {name: value for name, value in record.items() if name not in ("version", "changed_at", "created_at")}


@pytest.mark.parametrize("noun", NOUNS, ids=lambda noun: noun.path)
def test_making_changing_and_deleting_are_undone_and_redone(noun: Noun, given: Given, editor_api: ApiClient) -> None:
    collection = given.collection(noun)
    first = made(editor_api.post(collection, new_body(noun, given, 1)))
    address = f"{collection}{first['id']}/"
    undo(given, editor_api)
    problem(editor_api.get(address), 404)
    undo(given, editor_api)  # of the undo: it is made again, under its old identifier
    again = editor_api.get(address).json()
    assert values(again) == values(first)
    assert again["version"] > first["version"]
    changed = editor_api.patch(address, change_to(noun), again["version"]).json()
    undo(given, editor_api)
    back = editor_api.get(address).json()
    assert values(back) == values(first)
    assert back["version"] == changed["version"] + 1
    undo(given, editor_api)
    last = editor_api.get(address).json()
    assert values(last) == values(changed)
    assert editor_api.delete(address, last["version"]).status_code == 204
    undo(given, editor_api)
    restored = editor_api.get(address).json()
    assert values(restored) == values(changed)
    assert restored["version"] > last["version"]
    problem(editor_api.patch(address, change_to(noun), last["version"]), 412)  # no old tag matches the new row


def test_a_venue_comes_back_with_all_that_was_in_it(given: Given, tour: Tour, editor_api: ApiClient) -> None:
    venue = f"venues/{given.venue}/"
    nouns = [noun for noun in NOUNS if noun.parent == "venue"]
    for noun in nouns:
        made(editor_api.post(given.collection(noun), new_body(noun, given, 1)))

    def picture() -> dict[str, Any]:
        whole = {noun.path: items(editor_api.get(given.collection(noun), {"limit": 1000})) for noun in nouns}
        rows = {path: sorted((values(row) for row in rows), key=lambda row: row["id"]) for path, rows in whole.items()}
        return rows | {"scene": editor_api.get(f"{venue}scene/").json()}

    before = picture()
    address = f"projects/{given.project}/{venue}"
    assert editor_api.delete(address, Venue.objects.get().version).status_code == 204
    assert not Placement.objects.exists()
    undo(given, editor_api)
    assert picture() == before


def test_a_change_made_since_is_not_overwritten(given: Given, editor_api: ApiClient) -> None:
    wall = Wall.objects.get(label="W1")
    address = f"venues/{given.venue}/walls/{wall.pk}/"
    editor_api.patch(address, {"height_m": 3, "base_m": 0.5}, 1)
    first = now_at(given, editor_api)
    editor_api.patch(address, {"material": "wood-20"}, 2)
    undo(given, editor_api, first)  # another field was changed since: that one is kept
    shown = editor_api.get(address).json()
    assert (shown["height_m"], shown["base_m"], shown["material"]) == (4, 0, "wood-20")
    editor_api.patch(address, {"height_m": 3.5}, shown["version"])
    second = now_at(given, editor_api)
    editor_api.patch(address, {"height_m": 3.6}, shown["version"] + 1)
    assert "wall 'W1' was changed again since (height_m)" in refusal(given, editor_api, second)
    editor_api.delete(address, shown["version"] + 2)
    assert "wall 'W1' is gone" in refusal(given, editor_api, second)
    gone = now_at(given, editor_api)
    undo(given, editor_api)
    assert "is there again already" in refusal(given, editor_api, gone)


def test_a_record_that_was_changed_or_used_since_is_not_taken_back(given: Given, editor_api: ApiClient) -> None:
    node_types, nodes = f"projects/{given.project}/node-types/", f"projects/{given.project}/nodes/"
    by_path = {noun.path: noun for noun in NOUNS}
    sort = made(editor_api.post(node_types, new_body(by_path["node-types"], given, 1)))
    revision = now_at(given, editor_api)
    editor_api.patch(f"{node_types}{sort['id']}/", {"outputs": 3}, 1)
    assert "was changed since it was made (outputs)" in refusal(given, editor_api, revision)
    undo(given, editor_api)
    node = made(editor_api.post(nodes, new_body(by_path["nodes"], given, 1) | {"node_type": sort["id"]}))
    made_node = now_at(given, editor_api)
    response = editor_api.post(f"projects/{given.project}/undo/", {"revision": revision})
    assert "still used by node new 01" in problem(response, 409, "still-in-use")["detail"]
    placement = new_body(by_path["placements"], given, 1) | {"node": node["id"]}
    made(editor_api.post(f"venues/{given.venue}/placements/", placement))
    assert "has a placement" in refusal(given, editor_api, made_node)
    undo(given, editor_api)
    undo(given, editor_api, made_node)
    undo(given, editor_api, revision)
    problem(editor_api.get(f"{node_types}{sort['id']}/"), 404)


def test_what_a_record_needs_must_be_there_again_first(given: Given, editor_api: ApiClient) -> None:
    by_path = {noun.path: noun for noun in NOUNS}
    crews, nodes = f"projects/{given.project}/crews/", f"projects/{given.project}/nodes/"
    crew = made(editor_api.post(crews, {"name": "Rigging"}))
    body = new_body(by_path["nodes"], given, 1) | {"crew": crew["id"]}
    node = made(editor_api.post(nodes, body))
    editor_api.patch(f"{nodes}{node['id']}/", {"crew": None}, 1)
    change = now_at(given, editor_api)
    editor_api.delete(f"{crews}{crew['id']}/", 1)
    assert "node 'new 01' needs a crew that is gone" in refusal(given, editor_api, change)
    sort = made(editor_api.post(f"projects/{given.project}/node-types/", new_body(by_path["node-types"], given, 1)))
    other = made(editor_api.post(nodes, new_body(by_path["nodes"], given, 2) | {"node_type": sort["id"]}))
    editor_api.delete(f"{nodes}{other['id']}/", 1)
    deletion = now_at(given, editor_api)
    editor_api.delete(f"projects/{given.project}/node-types/{sort['id']}/", 1)
    assert "node 'new 02' needs a node type that is gone" in refusal(given, editor_api, deletion)
    undo(given, editor_api)
    undo(given, editor_api, deletion)
    assert NodeType.objects.get(pk=sort["id"]).nodes.count() == 1


def test_a_name_that_is_taken_meanwhile_stays_with_its_holder(given: Given, editor_api: ApiClient) -> None:
    crews = f"projects/{given.project}/crews/"
    crew = made(editor_api.post(crews, {"name": "Rigging"}))
    editor_api.delete(f"{crews}{crew['id']}/", 1)
    deletion = now_at(given, editor_api)
    made(editor_api.post(crews, {"name": "Rigging"}))
    assert "'Rigging' is already there" in refusal(given, editor_api, deletion)


def test_a_bulk_change_is_undone_whole(given: Given, editor_api: ApiClient) -> None:
    before = {one["id"]: one["label"] for one in items(editor_api.get(f"projects/{given.project}/nodes/"))}
    update = [{"id": key, "version": 1, "set": {"label": f"X {label}"}} for key, label in before.items()]
    bulk = f"projects/{given.project}/nodes/bulk/"
    assert editor_api.post(bulk, {"update": update}).status_code == 200
    undo(given, editor_api)
    assert dict(Node.objects.values_list("pk", "label")) == {
        Node.objects.get(pk=key).pk: label for key, label in before.items()
    }
    assert set(Node.objects.values_list("version", flat=True)) == {3}
    crew = Crew.objects.get(project=given.project)
    assert editor_api.delete(f"projects/{given.project}/crews/{crew.pk}/", crew.version).status_code == 204
    undo(given, editor_api)
    assert Node.objects.filter(crew=crew).count() == 8


def test_members_are_undone_by_owners_only(given: Given, tour: Tour, owner_api, editor_api, viewer: User) -> None:
    member = Membership.objects.get(project=tour.project, user=viewer)
    assert owner_api.delete(f"projects/{given.project}/members/{member.pk}/", 1).status_code == 204
    removal = now_at(given, owner_api)
    assert "your role" in refusal(given, editor_api, removal, 403)
    undo(given, owner_api)
    assert Membership.objects.get(user=viewer).version > 1
    owner_api.delete(f"projects/{given.project}/members/{member.pk}/", "*")
    removal = now_at(given, owner_api)
    viewer.delete()
    assert "needs a user that is gone" in refusal(given, owner_api, removal)
    made(owner_api.post(f"projects/{given.project}/invitations/", {"role": "viewer"}))
    assert "invitations are not undone" in refusal(given, owner_api, now_at(given, owner_api))
    owner_api.patch(f"projects/{given.project}/", {"name": "Fire walk"}, 1)
    undo(given, owner_api)
    assert owner_api.get(f"projects/{given.project}/").json()["name"] == "Lantern walk"


def test_only_editors_undo_and_only_what_there_is(given: Given, editor_api, viewer_api, outsider_api) -> None:
    address = f"projects/{given.project}/undo/"
    problem(viewer_api.post(address, {"revision": 1}), 403, "not-allowed")
    problem(outsider_api.post(address, {"revision": 1}), 404)
    problem(editor_api.post(address, {"revision": 10**6}), 404, "not-found")
    for bad in (0, -1, 1.5, "1", None, 2**31, 10**400, {}):
        assert pointers(editor_api.post(address, {"revision": bad})) == ["/revision"]
    assert pointers(editor_api.post(address, {})) == ["/revision"]
    assert Change.objects.filter(record_kind="Level").count() == Level.objects.count()
