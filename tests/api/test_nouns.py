"""Reading and writing records of every noun, one at a time: each test runs for every kind of record."""

from typing import Any
from uuid import uuid4

import pytest
from django.db import models

from showplan.records.models import User
from showplan.services.nouns import NOUNS, Noun
from tests.api.bodies import Given, change_to, new_body, room_for_more
from tests.api.client import ApiClient, api_for, is_uuid, items, made, pointers, problem, version_tag
from tests.builders import show_tour
from tests.conftest import Tour
from tests.tours import a_user, a_venue

NUMBERS = (models.FloatField, models.IntegerField)
pytestmark = [pytest.mark.django_db, pytest.mark.parametrize("noun", NOUNS, ids=lambda noun: noun.path)]


def one_new(api: ApiClient, noun: Noun, given: Given, number: int = 0) -> tuple[str, dict[str, Any]]:
    """The address and the values of a new record."""
    record = made(api.post(given.collection(noun), new_body(noun, given, number)))
    return f"{given.collection(noun)}{record['id']}/", record


def test_a_new_record_has_the_values_sent_and_an_address(noun: Noun, given: Given, editor_api: ApiClient) -> None:
    body = new_body(noun, given, 1)
    response = editor_api.post(given.collection(noun), body)
    record = made(response)
    assert {name: record[name] for name in body} | {"taken_at": None} == body | {"taken_at": None}
    assert is_uuid(record["id"])
    assert response["ETag"] == version_tag(record["version"]) == '"1"'
    again = editor_api.get(response["Location"])
    assert again.json() == record
    assert again["Cache-Control"] == "private, no-cache"
    assert record in items(editor_api.get(given.collection(noun)))
    assert set(record) == {"id", "version", "created_at", "changed_at", *(field.name for field in noun.fields)}


def test_an_unchanged_record_is_not_sent_twice(noun: Noun, given: Given, viewer_api: ApiClient, owner_api) -> None:
    address, record = one_new(owner_api, noun, given)
    etag = viewer_api.get(address)["ETag"]
    for same in (etag, f'"77", {etag}', "*", f"W/{etag}"):
        response = viewer_api.get(address, If_None_Match=same)
        assert (response.status_code, response["ETag"], response.content) == (304, etag, b"")
    owner_api.patch(address, change_to(noun), record["version"])
    assert viewer_api.get(address, If_None_Match=etag).status_code == 200


def test_fields_are_named_or_all_there(noun: Noun, given: Given, viewer_api: ApiClient, owner_api: ApiClient) -> None:
    address, record = one_new(owner_api, noun, given)
    name = noun.fields[-1].name
    few = {key: record[key] for key in ("id", "version", name)}
    assert viewer_api.get(address, {"fields": name}).json() == few
    assert few in items(viewer_api.get(given.collection(noun), {"fields": name, "limit": 1000}))
    for path in (address, given.collection(noun)):
        document = problem(viewer_api.get(path, {"fields": "colour"}), 400, "bad-parameter")
        assert document["errors"][0]["parameter"] == "fields"
        assert name in document["detail"]


def test_each_filter_finds_what_has_the_value(noun: Noun, given: Given, owner_api: ApiClient) -> None:
    for number in range(2):
        one_new(owner_api, noun, given, number)
    everything = items(owner_api.get(given.collection(noun), {"limit": 1000}))
    for name in noun.filters:
        wanted = next((one[name] for one in everything if one[name] is not None), None)
        if wanted is None:  # no placement here is in a zone: the filter must still be understood
            assert items(owner_api.get(given.collection(noun), {name: str(uuid4())})) == []
            continue
        text = str(wanted).lower() if isinstance(wanted, bool) else str(wanted)
        found = items(owner_api.get(given.collection(noun), {name: text, "limit": 1000}))
        assert found == [one for one in everything if one[name] == wanted], name


def test_an_unknown_or_bad_query_is_refused_by_name(noun: Noun, given: Given, owner_api: ApiClient) -> None:
    address, record = one_new(owner_api, noun, given)
    collection = given.collection(noun)
    calls = [
        lambda: owner_api.get(collection, {"colour": "red"}),
        lambda: owner_api.get(address, {"colour": "red"}),
        lambda: owner_api.post(f"{collection}?colour=red", new_body(noun, given, 5)),
        lambda: owner_api.patch(f"{address}?colour=red", change_to(noun), record["version"]),
        lambda: owner_api.delete(f"{address}?colour=red", record["version"]),
        lambda: owner_api.post(f"{collection}bulk/?colour=red", {"create": []}),
    ]
    for call in calls:
        document = problem(call(), 400, "bad-parameter")
        assert document["errors"][0]["parameter"] == "colour"
    assert owner_api.get(address).json() == record
    problem(owner_api.get(f"{collection}?limit=1&limit=2"), 400, "bad-parameter")
    typed = (models.ForeignKey, models.BooleanField, models.IntegerField, models.DateField)
    for field in noun.fields:
        if field.name in noun.filters and isinstance(field, typed):
            document = problem(owner_api.get(collection, {field.name: "maybe"}), 400, "bad-parameter")
            assert document["errors"][0]["parameter"] == field.name


def test_a_change_needs_the_version_it_was_based_on(noun: Noun, given: Given, editor_api: ApiClient) -> None:
    address, record = one_new(editor_api, noun, given)
    problem(editor_api.patch(address, change_to(noun)), 428, "if-match-required")
    response = editor_api.patch(address, change_to(noun), record["version"])
    assert response.status_code == 200, response.content
    changed = response.json()
    assert changed == editor_api.get(address).json()
    assert {name: changed[name] for name in change_to(noun)} == change_to(noun)
    assert changed["version"] == 2
    assert response["ETag"] == '"2"'
    stale = problem(editor_api.patch(address, new_body(noun, given, 3), record["version"]), 412, "stale-write")
    assert stale["current"] == changed
    weak = problem(editor_api.patch(address, new_body(noun, given, 3), 'W/"2"'), 412, "stale-write")
    assert weak["current"] == changed
    problem(editor_api.patch(address, {}, '"2", "3"'), 400, "bad-if-match")
    assert editor_api.get(address).json() == changed
    assert editor_api.patch(address, {}, "*").json() == changed


def test_a_deletion_needs_the_version_it_was_based_on(noun: Noun, given: Given, editor_api: ApiClient) -> None:
    address, record = one_new(editor_api, noun, given)
    changed = editor_api.patch(address, change_to(noun), record["version"]).json()
    problem(editor_api.delete(address), 428, "if-match-required")
    stale = problem(editor_api.delete(address, record["version"]), 412, "stale-write")
    assert stale["current"] == changed
    assert editor_api.get(address).status_code == 200
    gone = editor_api.delete(address, changed["version"])
    assert (gone.status_code, gone.content) == (204, b"")
    for response in (editor_api.get(address), editor_api.delete(address, 2), editor_api.patch(address, {}, 2)):
        problem(response, 404, "not-found")


def test_records_of_others_are_not_there(
    noun: Noun, given: Given, tour: Tour, owner: User, owner_api: ApiClient, outsider_api: ApiClient
) -> None:
    stranger = a_user()
    theirs = room_for_more(show_tour(stranger, receivers=1, name="Their show"), stranger)
    address, _ = one_new(api_for(stranger), noun, theirs)
    here = f"{given.collection(noun)}{address.split('/')[-2]}/"
    refused = [address, here, f"{given.collection(noun)}{uuid4()}/", theirs.collection(noun)]
    if noun.parent == "venue":
        other = a_venue(tour.project, owner, "Second hall")
        record = one_new(owner_api, noun, given)[1]
        refused.append(f"venues/{other.pk}/{noun.path}/{record['id']}/")
    for path in refused:
        problem(owner_api.get(path), 404, "not-found")
        problem(owner_api.patch(path, change_to(noun), "*"), 404 if path != theirs.collection(noun) else 405)
    problem(owner_api.post(theirs.collection(noun), new_body(noun, theirs, 1)), 404, "not-found")
    problem(outsider_api.get(given.collection(noun)), 404, "not-found")
    problem(outsider_api.post(given.collection(noun), new_body(noun, given, 1)), 404, "not-found")


def test_only_editors_with_the_scope_write(
    noun: Noun, given: Given, owner: User, viewer_api: ApiClient, anonymous_api: ApiClient, owner_api: ApiClient
) -> None:
    address, record = one_new(owner_api, noun, given)
    collection = given.collection(noun)
    reader, writer = api_for(owner, scopes=("read", "compute")), api_for(owner, scopes=("write",))

    def writes(api: ApiClient) -> list[Any]:
        return [
            api.post(collection, new_body(noun, given, 1)),
            api.post(f"{collection}bulk/", {"create": [new_body(noun, given, 1)]}),
            api.patch(address, change_to(noun), record["version"]),
            api.delete(address, record["version"]),
        ]

    for response in writes(viewer_api):
        assert "your role in 'Lantern walk' is viewer" in problem(response, 403, "not-allowed")["detail"]
    for response in writes(reader):
        assert "scope 'write'" in problem(response, 403, "not-allowed")["detail"]
    for response in [*writes(anonymous_api), anonymous_api.get(collection), anonymous_api.get(address)]:
        problem(response, 401, "not-signed-in")
        assert response["WWW-Authenticate"] == 'Bearer realm="showplan"'
    for path in (collection, address):
        assert "scope 'read'" in problem(writer.get(path), 403, "not-allowed")["detail"]
    assert owner_api.get(address).json() == record
    assert len(items(viewer_api.get(collection, {"limit": 1000, "fields": "id"}))) >= 1


def test_every_fault_of_a_body_is_named(noun: Noun, given: Given, owner_api: ApiClient) -> None:
    collection, valid = given.collection(noun), new_body(noun, given, 1)
    before = items(owner_api.get(collection, {"limit": 1000}))
    names = [field.name for field in noun.fields]
    needed = [f.name for f in noun.fields if not (f.null or f.blank or f.has_default())]
    read_only = ["id", "version", "created_at", "changed_at"]
    assert pointers(owner_api.post(collection, {})) == sorted(f"/{name}" for name in needed)
    strange = {"colour": "red", "a/b~c": 1, "": 2}
    assert pointers(owner_api.post(collection, valid | strange)) == ["/", "/a~1b~0c", "/colour"]
    fixed = dict.fromkeys(read_only, 1)
    assert pointers(owner_api.post(collection, valid | fixed)) == sorted(f"/{name}" for name in read_only)
    near = {field.name: "12.5" if isinstance(field, NUMBERS) else 12.5 for field in noun.fields}
    for body in ({name: {} for name in names}, {name: [[[]]] for name in names}, near):
        found = {f"/{pointer.split('/')[1]}" for pointer in pointers(owner_api.post(collection, body))}
        assert found == {f"/{name}" for name in names}
    for whole in ([], "text", 5, None, True):
        assert pointers(owner_api.post(collection, whole)) == [""]
    assert items(owner_api.get(collection, {"limit": 1000})) == before
