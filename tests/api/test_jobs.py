"""Jobs through the API: asked for, looked at, listed, cancelled."""

from typing import Any

import pytest
from django.db.models.functions import Now

from showplan.records.models import Job, User, Worker
from showplan.services.jobs import queue
from showplan.services.jobs.kinds import KINDS
from tests.api.client import api_for, items, pointers, problem
from tests.conftest import Tour

pytestmark = pytest.mark.django_db
ASKED = {"kind": "coverage-of-levels", "parameters": {"step_m": 2.0}}


@pytest.fixture
def address(tour: Tour) -> str:
    """Where the venue's jobs are."""
    return f"venues/{tour.venue.pk}/jobs/"


def _finish(worker: Any, result: Any) -> None:
    assert queue.finish(queue.claim_next(worker, KINDS), "done", result=result)


@pytest.fixture
def worker(db: None) -> Any:
    """The row of a worker that lives."""
    return Worker.objects.create(name="here 1", heartbeat=Now())


def test_from_asking_to_the_result(tour: Tour, editor: User, viewer: User, address: str, worker: Any) -> None:
    api = api_for(editor)
    asked = api.post(address, ASKED)
    assert (asked.status_code, asked["Retry-After"]) == (202, "2")
    job = asked.json()
    assert asked["Location"].endswith(f"/api/v1/jobs/{job['id']}/")
    assert (job["state"], job["result"], job["started_by_name"]) == ("waiting", None, "edgar-editor")
    assert job["parameters"] == {"step_m": 2.0, "height_m": 1.2, "network": None, "house": None}
    run = queue.claim_next(worker, KINDS)
    queue.note(run, 0.25, "level Hall", {"best": 3.0, "bound": 1.0})
    running = api_for(viewer).get(asked["Location"])
    assert running["Retry-After"] == "2"
    seen = running.json()
    assert (seen["state"], seen["done_share"], seen["doing"]) == ("running", 0.25, "level Hall")
    assert seen["partial"] == {"best": 3.0, "bound": 1.0}
    queue.finish(run, "done", result={"levels": []})
    done = api.get(asked["Location"])
    assert "Retry-After" not in done
    assert (done.json()["state"], done.json()["result"]) == ("done", {"levels": []})
    again = api.post(address, ASKED)
    assert (again.status_code, again.json()) == (202, done.json())
    assert Job.objects.count() == 1


def test_a_repeat_with_the_same_key_is_the_same_answer(editor: User, address: str) -> None:
    api = api_for(editor)
    first = api.post(address, ASKED, Idempotency_Key="one")
    again = api.post(address, ASKED, Idempotency_Key="one")
    assert (again.status_code, again["Location"], again["Idempotency-Replayed"]) == (202, first["Location"], "true")
    problem(api.post(address, {**ASKED, "parameters": {}}, Idempotency_Key="one"), 422, "key-of-another-call")


def test_faults_point_at_their_place(editor: User, address: str) -> None:
    api = api_for(editor)
    wrong = {"step_m": "wide", "colour": 1, "house": "half"}
    assert pointers(api.post(address, {**ASKED, "parameters": wrong})) == [
        "/parameters/colour",
        "/parameters/house",
        "/parameters/step_m",
    ]
    assert pointers(api.post(address, {"kind": "horoscope"})) == ["/kind"]
    assert pointers(api.post(address, {**ASKED, "parameters": {"network": "Nobody's"}})) == ["/parameters/network"]
    assert pointers(api.post(address, {**ASKED, "parameters": {"network": "\x00"}})) == ["/parameters"]
    assert not Job.objects.exists()


def test_the_list_comes_in_pages_without_results(editor: User, address: str, worker: Any) -> None:
    api = api_for(editor)
    keys = [api.post(address, {**ASKED, "parameters": {"step_m": 1.0 + n}}).json()["id"] for n in range(3)]
    _finish(worker, {"levels": []})
    first = api.get(address, {"limit": 2})
    assert [one["id"] for one in items(first)] == keys[:2]
    assert [one["state"] for one in items(first)] == ["done", "waiting"]
    assert all("result" not in one and "scene" not in one for one in items(first))
    assert [one["id"] for one in items(api.get(first.json()["next"]))] == keys[2:]


def test_cancelling(editor: User, viewer: User, outsider: User, address: str) -> None:
    api = api_for(editor)
    key = api.post(address, ASKED).json()["id"]
    problem(api_for(viewer).post(f"jobs/{key}/cancel/", {}), 403)
    problem(api_for(outsider).post(f"jobs/{key}/cancel/", {}), 404)
    problem(api_for(editor, scopes=("read", "write")).post(f"jobs/{key}/cancel/", {}), 403)
    cancelled = api.post(f"jobs/{key}/cancel/", {})
    assert (cancelled.status_code, cancelled.json()["state"]) == (200, "cancelled")
    assert api.post(f"jobs/{key}/cancel/", {}).json() == cancelled.json()


def test_the_kinds_tell_the_schema_of_their_parameters(viewer: User) -> None:
    listed = {one["name"]: one for one in items(api_for(viewer).get("job-kinds/"))}
    assert set(listed) == set(KINDS)
    assert set(listed["coverage-of-levels"]["parameters"]["properties"]) == {"step_m", "height_m", "network", "house"}
