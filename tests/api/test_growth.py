"""The number of queries does not grow with the number of rows: n and 2n rows cost the same."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from showplan.records.models import User
from showplan.services import planning
from showplan.services.nouns import NOUNS, Noun, by_path
from tests.api.bodies import Given, change_to, new_body
from tests.api.client import ApiClient
from tests.builders import show_tour

pytestmark = pytest.mark.django_db
every_noun = pytest.mark.parametrize("noun", NOUNS, ids=lambda noun: noun.path)
FEW = 6


class Queries:
    """What each of two calls asked the database."""

    def __init__(self) -> None:
        self._asked: list[list[str]] = []

    @contextmanager
    def of_a_call(self) -> Iterator[None]:
        """Note the queries of one call."""
        with CaptureQueriesContext(connection) as caught:
            yield
        self._asked.append([query["sql"] for query in caught])

    def refuse_growth(self) -> None:
        """Fail, with both lists, where the second call asked more often than the first."""
        few, many = self._asked
        assert len(many) <= len(few), "\n".join(
            [f"{len(few)} queries grew to {len(many)}", *(f"- {sql[:300]}" for sql in few), "then:", *many]
        )


def ok(response: Any) -> Any:
    """The body of a 200."""
    assert response.status_code == 200, response.content[:2000]
    return response.json()


@every_noun
def test_lists_and_bulk_writes_do_not_grow(noun: Noun, given: Given, owner_api: ApiClient) -> None:
    collection = given.collection(noun)
    creates, updates, lists = Queries(), Queries(), Queries()
    ok(owner_api.get(collection))  # the first call of all notes that the token was used
    made = 0
    for count in (FEW, 2 * FEW):
        body = {"create": [new_body(noun, given, made + number) for number in range(count)]}
        made += count
        with creates.of_a_call():
            rows = ok(owner_api.post(f"{collection}bulk/?report=rows", body))["rows"]
        update = [
            {"id": row["record"]["id"], "version": 1, "set": changed(noun, f"{count} {row['row']}")} for row in rows
        ]
        with updates.of_a_call():
            ok(owner_api.post(f"{collection}bulk/", {"update": update}))
        with lists.of_a_call():
            ok(owner_api.get(collection, {"limit": 1000}))
    for queries in (creates, updates, lists):
        queries.refuse_growth()


def changed(noun: Noun, name: str) -> dict[str, Any]:
    """A change that does not collide with those of other rows."""
    change = change_to(noun)
    return change | {"name": f"changed {name}"} if "name" in change else change


@pytest.mark.parametrize(
    ("path", "change"),
    [
        ("walls", {"height_m": 2}),
        ("placements", {"height_m": 1}),
        ("readings", {"taken_by": "Ana"}),
        ("candidate-sites", {"has_mains": False}),
    ],
)
def test_a_change_to_all_that_a_filter_finds_does_not_grow(
    path: str, change: dict[str, Any], given: Given, owner_api: ApiClient
) -> None:
    noun, queries, made = by_path()[path], Queries(), 0
    address = f"{given.collection(noun)}bulk/"
    for count in (FEW, 2 * FEW):
        ok(owner_api.post(address, {"create": [new_body(noun, given, made + number) for number in range(count)]}))
        made += count
        where = {"filter": {"level": given.level}, "set": change}
        with queries.of_a_call():
            assert ok(owner_api.post(address, {"update_where": where}))["updated"] == made
    queries.refuse_growth()


def test_lists_of_people_and_changes_do_not_grow(given: Given, owner_api: ApiClient) -> None:
    project = f"projects/{given.project}/"
    asked = {path: Queries() for path in ("invitations/", "changes/", "members/")}
    for _ in range(2):
        for days in range(1, FEW):
            assert owner_api.post(f"{project}invitations/", {"role": "viewer", "days": days}).status_code == 201
        for path, queries in asked.items():
            with queries.of_a_call():
                ok(owner_api.get(f"{project}{path}", {"limit": 1000}))
    for queries in asked.values():
        queries.refuse_growth()


GRID = {"level": "Hall", "network": "Show", "step_m": "4"}
COMPUTED: dict[str, tuple[str, dict[str, str]]] = {
    "scene": ("venues/{venue}/scene/", {}),
    "plan": ("venues/{venue}/plan/", {}),
    "links": ("venues/{venue}/links/", {}),
    "routes": ("venues/{venue}/routes/", {}),
    "failures": ("venues/{venue}/failures/", {}),
    "air": ("venues/{venue}/air/", {}),
    "air-strategies": ("venues/{venue}/air/strategies/", {"network": "Show"}),
    "readiness": ("venues/{venue}/readiness/", {}),
    "coverage": ("venues/{venue}/coverage/", GRID),
    "coverage-picture": ("venues/{venue}/coverage.png", GRID),
    "project-readiness": ("projects/{project}/readiness/", {}),
    "revisions": ("projects/{project}/revisions/", {}),
}


@pytest.mark.parametrize("name", COMPUTED)
def test_computed_results_do_not_grow(name: str, owner: User, owner_api: ApiClient) -> None:
    queries = Queries()
    assert owner_api.get("me/").status_code == 200
    for receivers in (FEW, 2 * FEW):
        venue = show_tour(owner, receivers, f"Tour of {receivers}")
        planning._kept.clear()  # a plan that is kept would ask for nothing
        address, query = COMPUTED[name]
        with queries.of_a_call():
            response = owner_api.get(address.format(venue=venue.pk, project=venue.project_id), query)
        assert response.status_code == 200, response.content[:2000]
    queries.refuse_growth()
