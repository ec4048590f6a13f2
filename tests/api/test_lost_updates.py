"""Writers at the same moment: none overwrites what another wrote, on SQLite and PostgreSQL alike."""

from collections import Counter
from typing import Any

import pytest

from showplan.records.models import Change, Membership, Node, User, Wall
from showplan.services.editing import edit
from tests.api.at_once import all_at_once
from tests.api.client import ApiClient, api_for, items, problem
from tests.conftest import Tour
from tests.tours import by

pytestmark = pytest.mark.django_db(transaction=True)
WRITERS, ROUNDS = 8, 4


def test_of_eight_writers_each_is_accepted_once_or_told(tour: Tour, owner: User) -> None:
    wall = Wall.objects.get(label="W1")
    address = f"venues/{tour.venue.pk}/walls/{wall.pk}/"
    apis = [api_for(owner) for _ in range(WRITERS)]
    accepted: list[float] = []

    def write(api: ApiClient, height_m: float) -> tuple[int, float]:
        seen = api.get(address).json()
        response = api.patch(address, {"height_m": height_m}, seen["version"])
        if response.status_code != 200:
            document = problem(response, 412, "stale-write")
            assert document["current"]["version"] > seen["version"]
        return response.status_code, height_m

    for turn in range(ROUNDS):
        calls = [
            lambda api=api, height_m=1 + turn + number / 100: write(api, height_m) for number, api in enumerate(apis)
        ]
        answers = all_at_once(calls)
        accepted += [height_m for status, height_m in answers if status == 200]
        assert any(status == 200 for status, _ in answers)
    changes = Change.objects.filter(record_id=wall.pk, action="updated").order_by("id")
    assert Counter(change.after["height_m"] for change in changes) == Counter(accepted)
    wall.refresh_from_db()
    assert wall.version == 1 + len(accepted)
    last = changes.last()
    assert last is not None
    assert wall.height_m == last.after["height_m"]
    # Each write starts from what the one before it left, and each has a revision of its own.
    heights = [4.0, *(change.after["height_m"] for change in changes)]
    assert [change.before["height_m"] for change in changes] == heights[:-1]
    revisions = [change.revision for change in changes]
    assert sorted(set(revisions)) == revisions


def test_of_writers_that_saw_the_same_version_one_is_accepted(tour: Tour, owner: User) -> None:
    wall = Wall.objects.get(label="W1")
    address = f"venues/{tour.venue.pk}/walls/{wall.pk}/"
    apis = [api_for(owner) for _ in range(WRITERS)]
    calls: list[Any] = [
        lambda api=api, number=number: api.patch(address, {"base_m": number / 10}, 1)
        for number, api in enumerate(apis[:-2], start=1)
    ]
    calls.append(lambda: apis[-2].delete(address, 1))
    bulk = {"update": [{"id": str(wall.pk), "version": 1, "set": {"base_m": 2}}]}
    calls.append(lambda: apis[-1].post(f"venues/{tour.venue.pk}/walls/bulk/", bulk))
    statuses = sorted(response.status_code for response in all_at_once(calls))
    deleted = not Wall.objects.filter(pk=wall.pk).exists()
    assert statuses == ([204] + [404] * 7 if deleted else [200] + [412] * 7)
    assert Change.objects.filter(record_id=wall.pk).count() == 2  # made, and changed or deleted once


def test_edits_of_different_records_all_go_through(tour: Tour, owner: User) -> None:
    nodes = list(Node.objects.order_by("label")[:WRITERS])
    apis = [api_for(owner) for _ in nodes]
    revision = tour.project.changes.latest("id").revision
    calls = [
        lambda api=api, node=node: api.patch(
            f"projects/{tour.project.pk}/nodes/{node.pk}/", {"note": f"checked {node.label}"}, node.version
        )
        for api, node in zip(apis, nodes, strict=True)
    ]
    assert [response.status_code for response in all_at_once(calls)] == [200] * WRITERS
    numbers = sorted(Change.objects.filter(revision__gt=revision).values_list("revision", flat=True))
    assert numbers == list(range(revision + 1, revision + 1 + WRITERS))


def test_of_two_equal_labels_one_is_accepted(tour: Tour, owner: User) -> None:
    apis = [api_for(owner) for _ in range(4)]
    crews = f"projects/{tour.project.pk}/crews/"
    calls = [lambda api=api: api.post(crews, {"name": "Rigging"}) for api in apis]
    answers = all_at_once(calls)
    assert sorted(response.status_code for response in answers) == [201, 422, 422, 422]
    for response in answers:
        if response.status_code == 422:
            assert problem(response, 422)["errors"][0]["pointer"] == "/name"
    assert [one["name"] for one in items(apis[0].get(crews))] == ["Costume", "Rigging"]


@pytest.mark.parametrize("way", ["remove", "demote"])
def test_of_two_owners_against_each_other_exactly_one_is_left(tour: Tour, owner: User, editor: User, way: str) -> None:
    second = Membership.objects.get(project=tour.project, user=editor)
    with edit(tour.project, by(owner)) as change:
        change.update(second, {"role": "owner"})
    first = Membership.objects.get(project=tour.project, user=owner)
    members = f"projects/{tour.project.pk}/members/"

    def against(user: User, other: Membership) -> Any:
        api, version = api_for(user), Membership.objects.get(pk=other.pk).version
        if way == "remove":
            return lambda: api.delete(f"{members}{other.pk}/", version)
        return lambda: api.patch(f"{members}{other.pk}/", {"role": "viewer"}, version)

    answers = all_at_once([against(owner, second), against(editor, first)])
    statuses = sorted(response.status_code for response in answers)
    assert statuses[0] in (200, 204)
    assert statuses[1] in (403, 404, 409)
    assert Membership.objects.filter(project=tour.project, role="owner").count() == 1
