"""Taking a relay placement by the API: what is answered, and every way it is refused."""

import pytest

from showplan.records.models import Level, Node, Placement, User
from showplan.services.editing import edit
from tests.api.client import api_for, pointers, problem
from tests.conftest import Tour
from tests.relay_jobs import add_sites, finished_job, infeasible_job
from tests.tours import by

pytestmark = pytest.mark.django_db


@pytest.fixture
def address(tour: Tour, owner: User) -> str:
    """Where the placement of a finished job is taken."""
    add_sites(tour.venue, owner)
    return f"jobs/{finished_job(tour.venue, owner, ['Left truss'], ['Left truss', 'Right truss']).pk}/apply/"


def test_the_best_placement_is_taken_and_undone_by_its_revision(tour: Tour, editor: User, address: str) -> None:
    api = api_for(editor)
    answer = api.post(address, {})
    assert answer.status_code == 200
    applied = answer.json()
    assert {**applied, "revision": 0} == {
        "kept": [],
        "moved": ["N1"],
        "placed": [],
        "removed": [],
        "made": [],
        "revision": 0,
    }
    assert Placement.objects.get(node__label="N1").x_m == 8.0
    problem(api.post(address, {}), 409)
    undone = api.post(f"projects/{tour.project.pk}/undo/", {"revision": applied["revision"]})
    assert undone.status_code == 200
    assert Placement.objects.get(node__label="N1").x_m == 5.5


def test_missing_relays_are_made_only_where_asked(editor: User, address: str) -> None:
    api = api_for(editor)
    assert "lacks 1 relay of type Pocket" in problem(api.post(address, {"placement": 1}), 409)["detail"]
    made = api.post(address, {"placement": 1, "make_missing": True}).json()
    assert (made["moved"], made["made"]) == (["N1"], ["Show relay 1"])
    assert Node.objects.filter(label="Show relay 1").count() == 1


def test_a_repeat_with_the_same_key_is_the_same_answer(editor: User, address: str) -> None:
    api = api_for(editor)
    first = api.post(address, {}, Idempotency_Key="one")
    again = api.post(address, {}, Idempotency_Key="one")
    assert (again.status_code, again.json(), again["Idempotency-Replayed"]) == (200, first.json(), "true")


def test_faults_and_rights(tour: Tour, owner: User, editor: User, viewer: User, outsider: User, address: str) -> None:
    api = api_for(editor)
    assert pointers(api.post(address, {"placement": 2})) == ["/placement"]
    assert pointers(api.post(address, {"placement": "first", "make": True})) == ["/make", "/placement"]
    problem(api_for(viewer).post(address, {}), 403)
    problem(api_for(outsider).post(address, {}), 404)
    problem(api_for(editor, scopes=("read", "compute")).post(address, {}), 403)
    without = infeasible_job(tour.venue, owner, most_relays=1)
    assert "found no placement" in problem(api.post(f"jobs/{without.pk}/apply/", {}), 409)["detail"]


def test_a_venue_that_changed_since_is_not_touched(tour: Tour, owner: User, editor: User, address: str) -> None:
    with edit(tour.project, by(owner)) as change:
        change.update(Level.objects.get(venue=tour.venue, name="Hall"), {"clear_height_m": 7.5})
    refused = problem(api_for(editor).post(address, {}), 409)
    assert "has changed since this was planned: plan again" in refused["detail"]
    assert Placement.objects.get(node__label="N1").x_m == 5.5
