"""The plan of a venue in one answer, and limits along a tour."""

import pytest

from showplan.records.models import User
from showplan.services import planning
from tests.api.client import ApiClient
from tests.conftest import Tour
from tests.tours import a_venue

pytestmark = pytest.mark.django_db
PARTS = ("links", "routes", "readiness")


def test_the_plan_holds_what_each_part_answers_alone(tour: Tour, owner_api: ApiClient) -> None:
    venue = f"venues/{tour.venue.pk}/"
    whole = owner_api.get(f"{venue}plan/").json()
    for part in PARTS:
        assert whole.pop(part) == owner_api.get(f"{venue}{part}/").json()
    readiness = owner_api.get(f"{venue}readiness/").json()
    assert whole == {name: readiness[name] for name in ("fingerprint", "planner_version")}


def test_the_plan_is_worked_out_once(tour: Tour, owner_api: ApiClient, monkeypatch: pytest.MonkeyPatch) -> None:
    made = []
    work = planning.plan
    monkeypatch.setattr(planning, "plan", lambda *given: made.append(given) or work(*given))
    planning._kept.clear()
    assert owner_api.get(f"venues/{tour.venue.pk}/plan/").status_code == 200
    assert len(made) == 1


@pytest.mark.parametrize("include", ["links", "routes,readiness", "readiness,links"])
def test_include_narrows_the_plan(include: str, tour: Tour, owner_api: ApiClient) -> None:
    found = owner_api.get(f"venues/{tour.venue.pk}/plan/", {"include": include, "house": "empty"}).json()
    assert set(found) - {"fingerprint", "planner_version"} == set(include.split(","))


@pytest.mark.parametrize(
    ("query", "parameter"),
    [
        ({"include": "walls"}, "include"),
        ({"include": ""}, "include"),
        ({"house": "half"}, "house"),
        ({"of": "1"}, "of"),
    ],
)
def test_a_wrong_question_is_named(query: dict[str, str], parameter: str, tour: Tour, owner_api: ApiClient) -> None:
    response = owner_api.get(f"venues/{tour.venue.pk}/plan/", query)
    assert response.status_code == 400
    assert response.json()["errors"][0]["parameter"] == parameter


def test_limits_along_the_tour_name_the_venue(tour: Tour, owner: User, owner_api: ApiClient) -> None:
    a_venue(tour.project, owner, "Ferry terminal", region="other")
    venues = owner_api.get(f"projects/{tour.project.pk}/readiness/").json()["venues"]
    conflicts = {one["name"]: [finding["code"] for finding in one["region_conflicts"]] for one in venues}
    assert conflicts["Ferry terminal"] == ["region-without-table"]
    assert conflicts["Corn hall"] == []
