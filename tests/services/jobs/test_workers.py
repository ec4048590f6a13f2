"""Real worker processes: killed, told to leave, side by side; and what a computation may do to them."""

import json
import os
import signal
import time
from collections import Counter

import pytest
from django.core.management import call_command
from django.db import connection

from showplan.planner.watch import Unwatched
from showplan.records.models import Job, Worker
from showplan.services.jobs import heart, queue
from showplan.services.jobs.kinds import KINDS
from showplan.services.jobs.starting import cancel_job
from showplan.services.jobs.worker import work
from showplan.services.rights import Caller
from showplan.services.scenes import build_scene
from tests.services.jobs.conftest import age, children_of, fresh, kill, meanwhile, wait_for

pytestmark = pytest.mark.django_db(transaction=True)
A_FEW_SECONDS = 8.0  # one to notice, two of grace, the rest for a busy machine


def _computed(start, **parameters):
    """The result of a job that nothing disturbed."""
    job = start("steady", **parameters)
    work(once=True)
    return fresh(job)


def test_a_killed_worker_loses_nothing(start, run_worker):
    undisturbed = _computed(start, steps=15, step_s=0.0)
    job = start("steady", steps=15, step_s=0.1)
    first = run_worker()
    seen = wait_for(lambda: fresh(job).done_share > 0 and fresh(job), first)
    assert (seen.state, seen.attempts, seen.partial["bound"]) == ("running", 1, 1.0)
    [computing] = children_of(first.pid)
    kill(first.pid)
    first.wait()
    wait_for(lambda: not os.path.exists(f"/proc/{computing}"))  # the computing process leaves too
    assert fresh(job).state == "running"  # nobody knows yet
    call_command("worker", "--reap")
    assert fresh(job).state == "running"  # and its heart may still beat
    age(job)
    run_worker("--once").wait()
    ended = fresh(job)
    assert (ended.state, ended.attempts, ended.done_share, ended.scene) == ("done", 2, 1.0, "")
    assert ended.result == undisturbed.result


# Some two seconds of search on 202 sites; the first placement is told at once. The clock must end nothing early.
RELAYS = {
    "network": "Show",
    "relay_type": "Pocket",
    "routes": 2,
    "extra_margin_db": 18.0,
    "seconds": 3600.0,
    "grids": [{"level": "Hall", "height_m": 3.0, "step_m": 2.0}],
}


def test_a_relay_placement_killed_in_the_midst_of_its_search_ends_as_if_undisturbed(start, run_worker):
    kind = KINDS["relay-placement"]
    job = start(kind.name, **RELAYS)
    scene, wishes = build_scene(job.venue), kind.parameters.model_validate_json(json.dumps(RELAYS))
    first = run_worker()
    seen = wait_for(lambda: (fresh(job).partial or {}).get("best") and fresh(job), first)
    for pid in (*children_of(first.pid), first.pid):
        kill(pid)
    first.wait()
    killed = fresh(job)
    assert (killed.state, killed.attempts, killed.result) == ("running", 1, None)
    assert 0 < seen.done_share <= killed.done_share < 1
    age(job)
    second = run_worker("--once")
    undisturbed = kind.compute(scene, wishes, Unwatched())
    second.wait()
    ended = fresh(job)
    assert (ended.state, ended.attempts) == ("done", 2)
    assert ended.result == undisturbed
    assert (ended.result["state"], len(ended.result["placements"][0]["relays"])) == ("optimal", 3)


def test_a_worker_that_is_told_to_leave_gives_its_job_back(start, run_worker):
    job = start("steady", steps=100, step_s=0.1)
    worker = run_worker()
    wait_for(lambda: fresh(job).state == "running", worker)
    assert queue.living_workers().get().name.endswith(f" {worker.pid}")
    worker.send_signal(signal.SIGTERM)
    printed, _ = worker.communicate(timeout=20)
    assert worker.returncode == 0
    assert "given back" in printed
    given_back = fresh(job)
    assert (given_back.state, given_back.attempts, given_back.claim) == ("waiting", 0, None)
    assert given_back.scene
    assert not Worker.objects.exists()


def test_two_workers_run_no_job_twice(start, run_worker):
    jobs = [start("steady", seed=number) for number in range(5)]
    workers = [run_worker("--once") for _ in range(2)]
    printed = "".join(worker.communicate(timeout=60)[0] for worker in workers)
    assert [worker.returncode for worker in workers] == [0, 0], printed
    begun = Counter(line.split()[1] for line in printed.splitlines() if "attempt" in line)
    assert begun == Counter(f"{job.pk}:" for job in jobs)
    assert {(one.state, one.attempts) for one in Job.objects.all()} == {("done", 1)}
    assert len({one.result["chain"] for one in Job.objects.all()}) == len(jobs)


@pytest.mark.parametrize("kind", ["steady", "stubborn"])
def test_cancelling_a_running_job_takes_a_few_seconds(kind, start, owner):
    job = start(kind, steps=1000, step_s=0.1)

    def cancel():
        asked = cancel_job(Caller(owner), job.pk)
        assert (asked.state, asked.cancel_requested) == ("running", True)
        return time.monotonic()

    with meanwhile(lambda: wait_for(lambda: fresh(job).done_share > 0) and cancel()) as cancelled:
        work(once=True)
    assert time.monotonic() - cancelled.result() < A_FEW_SECONDS
    ended = fresh(job)
    assert (ended.state, ended.problem) == ("cancelled", None)
    # A computation that listens may leave what it had.
    assert (ended.result is not None) == (kind == "steady")


def test_a_worker_leaves_with_the_process_that_started_it(start, run_worker):
    job = start("steady", steps=1000, step_s=0.1)
    parent = run_worker(started_by=("sh", "-c", '"$@" --beside $$ & wait', "sh"))
    wait_for(lambda: fresh(job).done_share > 0, parent)
    kill(parent.pid)
    wait_for(lambda: not Worker.objects.exists())
    assert (fresh(job).state, fresh(job).attempts) == ("waiting", 0)


@pytest.mark.parametrize(
    ("kind", "code", "detail"),
    [
        ("broken", "fault", "ZeroDivisionError: nothing to divide by"),
        ("refusing", "cannot-compute", "there are no trees on level 'Hall'; plant some"),
        ("unspeakable", "fault", "not JSON compliant"),
    ],
)
def test_a_computation_that_fails_says_why_and_is_not_tried_again(kind, code, detail, start):
    job = start(kind)
    work(once=True)
    ended = fresh(job)
    assert (ended.state, ended.attempts, ended.problem["code"]) == ("failed", 1, code)
    assert detail in ended.problem["detail"]
    assert ended.result is None


def test_a_process_that_dies_is_tried_three_times(start):
    job = start("dying")
    work(once=True)
    ended = fresh(job)
    assert (ended.state, ended.attempts) == ("failed", 3)
    assert ended.problem == {
        "code": "process-died",
        "detail": "the computing process was ended by the signal SIGKILL; it was tried 3 times",
    }


def test_what_a_library_prints_is_no_result(start):
    job = start("printing")
    work(once=True)
    assert fresh(job).result == "this"


def test_what_the_database_cannot_store_has_failed(start):
    job = start("unstorable")
    work(once=True)
    ended = fresh(job)
    if connection.vendor == "postgresql":
        assert (ended.state, ended.problem["code"]) == ("failed", "fault")
        assert "cannot store the result" in ended.problem["detail"]
    else:
        assert (ended.state, ended.result) == ("done", "\x00")


def test_every_minute_the_heart_looks_for_jobs_of_dead_workers(start, worker, monkeypatch):
    monkeypatch.setattr(heart, "HEARTBEAT_S", 0.05)
    job = start("steady")
    queue.claim_next(worker, KINDS)
    age(job)
    before = fresh(worker).heartbeat
    with heart.Heart(worker):
        wait_for(lambda: fresh(job).state == "waiting")
    assert fresh(worker).heartbeat > before


def test_a_job_deleted_while_it_runs_is_dropped(tour, start):
    job = start("steady", steps=1000, step_s=0.1)
    told: list[str] = []
    with meanwhile(lambda: wait_for(lambda: fresh(job).done_share > 0) and tour.project.delete()):
        work(once=True, say=told.append)
    assert "lost" in told[-1]
    assert not Job.objects.exists()
