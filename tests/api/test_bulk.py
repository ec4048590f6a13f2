"""Many records in one call: all or none, every fault at its place, the rights of the caller for each row."""

from typing import Any
from uuid import uuid4

import pytest

from showplan.records.models import Change, Project
from showplan.services.nouns import NOUNS, Noun, by_path
from tests.api.bodies import Given, change_to, new_body
from tests.api.client import ApiClient, items, pointers, problem
from tests.conftest import Tour
from tests.tours import a_venue

pytestmark = pytest.mark.django_db
every_noun = pytest.mark.parametrize("noun", NOUNS, ids=lambda noun: noun.path)


def bulk(api: ApiClient, given: Given, noun: Noun, report: bool = False, **parts: Any) -> Any:
    """The answer to a bulk call."""
    return api.post(f"{given.collection(noun)}bulk/{'?report=rows' if report else ''}", parts)


def new_records(api: ApiClient, given: Given, noun: Noun, count: int) -> list[dict[str, Any]]:
    """Records just made by a bulk call, in the order of its rows."""
    response = bulk(api, given, noun, report=True, create=[new_body(noun, given, i) for i in range(count)])
    assert response.status_code == 200, response.content
    return [row["record"] for row in response.json()["rows"]]


def clearable(noun: Noun) -> str | None:
    """A field that may be empty."""
    return next((field.name for field in noun.fields if field.null or field.blank), None)


@every_noun
def test_create_and_update_in_one_revision(noun: Noun, given: Given, editor_api: ApiClient) -> None:
    old = new_records(editor_api, given, noun, 3)
    revision = Project.objects.get(pk=given.project).revision
    update = [{"id": one["id"], "version": 1, "set": change_to(noun)} for one in old[:1]]
    create = [new_body(noun, given, number) for number in (5, 6)]
    response = bulk(editor_api, given, noun, report=True, create=create, update=update)
    assert response.status_code == 200, response.content
    answer = response.json()
    assert (answer["created"], answer["updated"], answer["revision"]) == (2, 1, revision + 1)
    assert [(row["part"], row["row"]) for row in answer["rows"]] == [("create", 0), ("create", 1), ("update", 0)]
    everything = {one["id"]: one for one in items(editor_api.get(given.collection(noun), {"limit": 1000}))}
    for row in answer["rows"]:
        assert everything[row["record"]["id"]] == row["record"]
    changed = everything[old[0]["id"]]
    assert {name: changed[name] for name in change_to(noun)} == change_to(noun)
    assert changed["version"] == 2
    kept = set(changed) - set(change_to(noun)) - {"version", "changed_at"}
    assert {name: changed[name] for name in kept} == {name: old[0][name] for name in kept}
    assert everything[old[1]["id"]] == old[1]
    assert Change.objects.filter(revision=revision + 1).count() == 3


@every_noun
def test_a_field_is_set_cleared_or_kept(noun: Noun, given: Given, editor_api: ApiClient) -> None:
    [record] = new_records(editor_api, given, noun, 1)
    name = clearable(noun)
    if name is None:
        update = [{"id": record["id"], "version": 1, "clear": [noun.fields[0].name]}]
        response = bulk(editor_api, given, noun, update=update)
        assert pointers(response) == ["/update/0/clear/0"]
        assert "can: none" in problem(response, 422)["errors"][0]["detail"]
        return
    rows = [
        {"id": record["id"], "version": 1, "clear": ["colour", name, noun.fields[0].name], "set": {name: None}},
        {"id": str(uuid4()), "version": 1, "clear": ["colour"], "set": {"colour": 1}},
    ]
    found = pointers(bulk(editor_api, given, noun, update=rows))
    assert {"/update/0/clear/0", "/update/0/clear/1", "/update/1/clear/0", "/update/1/set/colour"} <= set(found)
    response = bulk(editor_api, given, noun, report=True, update=[{"id": record["id"], "version": 1, "clear": [name]}])
    # A field that another rule needs (one of two, say) cannot be cleared alone; then the record is as it was.
    now = editor_api.get(f"{given.collection(noun)}{record['id']}/").json()
    if response.status_code == 422:
        assert now == record
    else:
        assert now[name] in (None, "")
        assert response.json()["rows"][0]["record"] == now
    kept = set(record) - {name, "version", "changed_at"}
    assert {other: now[other] for other in kept} == {other: record[other] for other in kept}


@every_noun
def test_one_bad_row_writes_none_and_every_fault_has_its_place(noun: Noun, given: Given, editor_api: ApiClient) -> None:
    old = new_records(editor_api, given, noun, 2)
    before = items(editor_api.get(given.collection(noun), {"limit": 1000}))
    rows, needed = Change.objects.count(), noun.fields[0].name
    create = [new_body(noun, given, 5), {}, new_body(noun, given, 6) | {"colour": "red"}, 7]
    update = [
        {"id": old[0]["id"], "version": 1, "set": {needed: {}}},
        {"id": old[1]["id"], "version": 1, "set": {"id": old[1]["id"]}, "clear": ["colour"]},
    ]
    response = bulk(editor_api, given, noun, create=create[:3], update=update, report=True)
    found = pointers(response)
    expected = {f"/create/1/{needed}", "/create/2/colour", f"/update/0/set/{needed}", "/update/1/set/id"}
    assert expected | {"/update/1/clear/0"} <= set(found)
    assert not any(pointer.startswith("/create/0") for pointer in found)
    report = problem(response, 422)["rows"]
    assert [(row["part"], row["row"], bool(row["errors"])) for row in report] == [
        ("create", 0, False),
        ("create", 1, True),
        ("create", 2, True),
        ("update", 0, True),
        ("update", 1, True),
    ]
    assert "/create/3" in pointers(bulk(editor_api, given, noun, create=create))
    assert items(editor_api.get(given.collection(noun), {"limit": 1000})) == before
    assert Change.objects.count() == rows


@every_noun
def test_a_stale_or_missing_row_stops_the_whole_call(noun: Noun, given: Given, editor_api: ApiClient) -> None:
    old = new_records(editor_api, given, noun, 2)
    good = {"id": old[0]["id"], "version": 1, "set": change_to(noun)}
    response = bulk(editor_api, given, noun, update=[good, {"id": old[1]["id"], "version": 7, "set": {}}])
    problem(response, 412, "stale-write")
    response = bulk(editor_api, given, noun, update=[good, {"id": str(uuid4()), "version": 1, "set": {}}])
    problem(response, 404, "not-found")
    assert pointers(bulk(editor_api, given, noun, update=[good, good])) == ["/update/1/id"]
    assert editor_api.get(f"{given.collection(noun)}{old[0]['id']}/").json() == old[0]


def test_rules_between_fields_have_their_place_too(given: Given, editor_api: ApiClient) -> None:
    walls = by_path()["walls"]
    old = new_records(editor_api, given, walls, 2)
    off = {"end_x_m": 77}
    twin = {"label": old[0]["label"]}
    create = [new_body(walls, given, 3) | off, new_body(walls, given, 4) | twin, new_body(walls, given, 5)]
    update = [
        {"id": old[0]["id"], "version": 1, "set": {"height_m": 9}},
        {"id": old[1]["id"], "version": 1, "set": off},
    ]
    found = pointers(bulk(editor_api, given, walls, create=create, update=update))
    assert found == [
        "/create/0/end_x_m",
        "/create/0/end_y_m",
        "/create/1/label",
        "/update/1/set/end_x_m",
        "/update/1/set/end_y_m",
    ]
    twice = [new_body(walls, given, 6), new_body(walls, given, 6)]
    assert pointers(bulk(editor_api, given, walls, create=twice)) == ["/create/1/label"]


def test_a_filter_is_asked_again_for_the_caller(given: Given, tour: Tour, owner, editor_api: ApiClient) -> None:
    walls = by_path()["walls"]
    new_records(editor_api, given, walls, 3)
    other = a_venue(tour.project, owner, "Second hall")
    where = {"filter": {"material": "brick-200"}, "set": {"height_m": 3.5}}
    response = bulk(editor_api, given, walls, update_where=where)
    assert (response.status_code, response.json()["updated"]) == (
        200,
        2,
    )  # W1 and W2; the other venue's two are not ours
    heights = {one["label"]: one["height_m"] for one in items(editor_api.get(given.collection(walls)))}
    assert heights == {"W1": 3.5, "W2": 3.5, "new 00": 2.5, "new 01": 2.5, "new 02": 2.5}
    assert set(other.levels.get().walls.values_list("height_m", flat=True)) == {4.0}
    nothing = bulk(editor_api, given, walls, update_where={"filter": {"label": "none"}, "set": {"height_m": 3}})
    assert (nothing.status_code, nothing.json()["updated"]) == (200, 0)
    everything = bulk(editor_api, given, walls, update_where={"filter": {}, "set": {"base_m": 0.25}})
    assert everything.json()["updated"] == 5


def test_faults_of_a_filtered_change_have_their_place(given: Given, editor_api: ApiClient) -> None:
    walls = by_path()["walls"]
    old = new_records(editor_api, given, walls, 2)
    for where, expected in (
        ({"filter": {"colour": "red"}, "set": {}}, ["/update_where/filter/colour"]),
        ({"filter": {"level": "up"}, "set": {}}, ["/update_where/filter/level"]),
        ({"filter": {"label": 5}, "set": {}}, ["/update_where/filter/label"]),
        ({"filter": {}, "set": {"height_m": -1}}, ["/update_where/set/height_m"]),
        ({"filter": {}, "set": {"colour": "red"}, "clear": ["label"]}, None),
        ({"filter": {"level": given.level}, "set": {"end_x_m": 77}}, None),
        ({"filter": {"level": given.level}, "set": {"label": "one"}}, ["/update_where/set/label"]),
        ({"set": {}}, ["/update_where/filter"]),
    ):
        found = pointers(bulk(editor_api, given, walls, update_where=where))
        assert found == expected or (expected is None and len(found) == 2), (where, found)
        assert all(pointer.startswith("/update_where/") for pointer in found)
    both = {"id": old[0]["id"], "version": 1, "set": {"height_m": 1}}
    where = {"filter": {"level": given.level}, "set": {"height_m": 2}}
    assert pointers(bulk(editor_api, given, walls, update=[both], update_where=where)) == ["/update_where/filter"]


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ({}, [""]),
        ([], [""]),
        ({"delete": []}, ["/delete"]),
        ({"create": {}}, ["/create"]),
        ({"create": [{}] * 1001}, ["/create"]),
        ({"create": [[]], "update": [5]}, ["/create/0", "/update/0"]),
        ({"update": [{"set": {}}]}, ["/update/0/id", "/update/0/version"]),
        ({"update": [{"id": 5, "version": "1", "set": [], "colour": 1}]}, None),
        ({"update_where": []}, ["/update_where"]),
    ],
)
def test_a_call_of_another_form_is_refused(given: Given, editor_api: ApiClient, body: Any, expected: Any) -> None:
    found = pointers(editor_api.post(f"projects/{given.project}/crews/bulk/", body))
    assert found == (expected or [f"/update/0/{name}" for name in ("colour", "id", "set", "version")])


def test_a_thousand_rows_go_in_one_call(given: Given, editor_api: ApiClient) -> None:
    crews = by_path()["crews"]
    create = [{"name": f"crew {number:04}"} for number in range(1000)]
    response = bulk(editor_api, given, crews, report=True, create=create)
    made = [row["record"] for row in response.json()["rows"]]
    assert [one["name"] for one in made] == [one["name"] for one in create]
    update = [{"id": one["id"], "version": 1, "set": {"name": f"new {one['name']}"}} for one in made]
    response = bulk(editor_api, given, crews, update=update)
    assert (response.status_code, response.json()["updated"]) == (200, 1000)
    found = items(editor_api.get(given.collection(crews), {"limit": 1000}))
    assert sum(one["name"].startswith("new crew") and one["version"] == 2 for one in found) >= 999
    too_many = bulk(editor_api, given, crews, update_where={"filter": {}, "set": {"name": "same"}})
    assert pointers(too_many) == ["/update_where/filter"]


def test_one_reading_twice_is_refused_not_planned_around(given: Given, editor_api: ApiClient) -> None:
    noun = by_path()["readings"]
    body = new_body(noun, given, 1)
    response = bulk(editor_api, given, noun, create=[body, body])
    assert response.status_code == 422, response.content
    assert "already" in str(problem(response, 422)["errors"])
    assert items(editor_api.get(given.collection(noun))) == []
