"""Keyset pages: nothing that was there at the start is missed or seen twice, however much comes in between."""

from typing import Any

import pytest

from showplan.services.nouns import NOUNS, Noun
from tests.api.bodies import Given, new_body
from tests.api.client import ApiClient, items, made

pytestmark = pytest.mark.django_db
PAGES = 5


def walk(api: ApiClient, first: str, query: dict[str, Any]) -> list[list[dict[str, Any]]]:
    """Every page from the first on, by the `next` of each."""
    response = api.get(first, query)
    pages = [items(response)]
    while (following := response.json()["next"]) is not None:
        response = api.get(following)
        pages.append(items(response))
    return pages


@pytest.mark.parametrize("noun", NOUNS, ids=lambda noun: noun.path)
def test_five_pages_with_new_records_in_between(noun: Noun, given: Given, owner_api: ApiClient) -> None:
    collection = given.collection(noun)
    # Even numbers first; the odd ones come in while the pages are read, so they fall before and behind the place.
    bulk = {"create": [new_body(noun, given, number) for number in range(0, 20, 2)]}
    assert owner_api.post(f"{collection}bulk/", bulk).status_code == 200
    start = items(owner_api.get(collection, {"limit": 1000}))
    limit = -(-len(start) // PAGES)
    seen, place, number = [], f"{collection}?limit={limit}", 1
    for _ in range(PAGES):
        response = owner_api.get(place)
        seen.append(items(response))
        assert len(seen[-1]) == limit or response.json()["next"] is None
        made(owner_api.post(collection, new_body(noun, given, number)))
        made(owner_api.post(collection, new_body(noun, given, 20 - number)))
        number += 2
        if (place := response.json()["next"]) is None:
            break
    else:
        seen += walk(owner_api, place, {})
    flat = [one for page in seen for one in page]
    identifiers = [one["id"] for one in flat]
    assert len(set(identifiers)) == len(identifiers)
    assert {one["id"] for one in start} <= set(identifiers)
    whole = items(owner_api.get(collection, {"limit": 1000}))
    assert flat == [one for one in whole if one["id"] in set(identifiers)]


def test_a_page_keeps_its_filter_and_fields(given: Given, owner_api: ApiClient) -> None:
    nodes = f"projects/{given.project}/nodes/"
    query = {"node_type": given.node_type, "fields": "role", "limit": 7}
    pages = walk(owner_api, nodes, query)
    assert [len(page) for page in pages] == [7, 7, 7, 7, 7, 5]
    assert sorted(one["id"] for page in pages for one in page) == sorted(given.nodes)
    assert {tuple(one) for page in pages for one in page} == {("id", "version", "role")}


def test_records_that_go_do_not_move_the_others(given: Given, owner_api: ApiClient) -> None:
    nodes = f"projects/{given.project}/nodes/"
    query = {"node_type": given.node_type, "limit": 10}
    first = owner_api.get(nodes, query)
    for one in items(first)[3:]:  # the last of the page too, which is the place that the next page starts from
        assert owner_api.delete(f"{nodes}{one['id']}/", one["version"]).status_code == 204
    labels = [one["label"] for page in walk(owner_api, first.json()["next"], {}) for one in page]
    assert labels == [f"spare {number}" for number in range(10, 40)]


def test_texts_with_a_script_of_their_own_keep_their_place(given: Given, owner_api: ApiClient) -> None:
    crews = f"projects/{given.project}/crews/"
    names = ["Éclairage", "eclairage", "Zürich", "ausgang", "照明", "a b", "a-b", "A/B", "ß", "~", "'", '"', "\\", "%"]
    assert owner_api.post(f"{crews}bulk/", {"create": [{"name": name} for name in names]}).status_code == 200
    whole = [one["name"] for one in items(owner_api.get(crews))]
    assert sorted(whole) == sorted([*names, "Costume"])
    assert [one["name"] for page in walk(owner_api, crews, {"limit": 1}) for one in page] == whole


def test_members_tokens_and_changes_come_in_pages_too(given: Given, owner_api: ApiClient) -> None:
    for number in range(4):
        made(owner_api.post(f"projects/{given.project}/invitations/", {"role": "viewer", "days": number + 1}))
    for path in ("members/", "invitations/", "changes/"):
        address = f"projects/{given.project}/{path}"
        whole = items(owner_api.get(address, {"limit": 1000}))
        assert [one for page in walk(owner_api, address, {"limit": 2}) for one in page] == whole
        assert len(whole) >= 3
    assert len(items(owner_api.get("tokens/", {"limit": 1}))) == 1
    assert [one["name"] for one in items(owner_api.get("projects/", {"limit": 1}))] == ["Lantern walk"]
