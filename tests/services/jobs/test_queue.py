"""From state to state: who may move a job, and who no longer may."""

from datetime import timedelta

import pytest
from django.db.models.functions import Now

from showplan.records.models import Job, Worker
from showplan.services.jobs import queue
from showplan.services.jobs.kinds import KINDS
from tests.api.at_once import all_at_once
from tests.services.jobs.conftest import age, fresh

pytestmark = pytest.mark.django_db


def test_the_oldest_waits_least_and_takes_one_claim(start, worker):
    first, second = start("steady", seed=1), start("steady", seed=2)
    taken = queue.claim_next(worker, KINDS)
    assert (taken.pk, taken.state, taken.attempts, taken.worker_name) == (first.pk, "running", 1, "here 1")
    assert queue.claim_next(worker, ["another-kind"]) is None  # a worker of another version leaves it alone
    assert queue.claim_next(worker, KINDS).pk == second.pk
    assert queue.claim_next(worker, KINDS) is None


@pytest.mark.django_db(transaction=True)
def test_many_claims_at_once_take_each_job_once(start, worker):
    jobs = {start("steady", seed=number).pk for number in range(12)}

    def take_all():
        taken = []
        while (job := queue.claim_next(worker, KINDS)) is not None:
            taken.append(job.pk)
        return taken

    taken = [key for keys in all_at_once([take_all] * 4) for key in keys]
    # Who meets a locked row skips it and may leave early: what is left waits for the next look.
    taken += take_all()
    assert len(taken) == len(jobs)
    assert set(taken) == jobs


def test_who_lost_the_claim_writes_nothing(start, worker):
    job = start("steady")
    slow = queue.claim_next(worker, KINDS)
    age(job)
    assert queue.reap() == queue.Reaped(again=1, failed=0, cancelled=0)
    assert fresh(job).state == "waiting"
    quick = queue.claim_next(worker, KINDS)
    assert queue.look(slow) == "lost"
    queue.note(slow, 0.9, "too late", None)
    queue.give_back(slow)
    queue.process_died(slow, "ended")
    assert queue.finish(slow, "done", result=1) is False
    seen = fresh(job)
    assert (seen.state, seen.attempts, seen.done_share, seen.doing) == ("running", 2, 0.0, "starting")
    assert queue.finish(quick, "done", result=2) is True
    assert (fresh(job).result, fresh(job).done_share) == (2, 1.0)


def test_a_heartbeat_keeps_a_run_alive(start, worker):
    job = start("steady")
    run = queue.claim_next(worker, KINDS)
    age(job)
    queue.beat(worker, run.claim)
    assert queue.reap().again == 0
    assert fresh(job).state == "running"


def test_after_three_dead_workers_a_job_has_failed(start, worker):
    job = start("steady")
    for attempt in (1, 2, 3):
        assert queue.claim_next(worker, KINDS).attempts == attempt
        age(job)
        reaped = queue.reap()
        assert (reaped.again, reaped.failed) == ((1, 0) if attempt < 3 else (0, 1))
    ended = fresh(job)
    assert (ended.state, ended.problem["code"], ended.claim, ended.scene) == ("failed", "worker-died", None, "")
    assert "3 times" in ended.problem["detail"]


def test_a_cancelled_job_of_a_dead_worker_is_not_run_again(start, worker):
    job = start("steady")
    queue.claim_next(worker, KINDS)
    Job.objects.update(cancel_requested=True)
    age(job)
    assert queue.reap() == queue.Reaped(again=0, failed=0, cancelled=1)
    assert fresh(job).state == "cancelled"


def test_a_job_given_back_has_its_attempts(start, worker):
    job = start("steady")
    queue.give_back(queue.claim_next(worker, KINDS))
    assert (fresh(job).state, fresh(job).attempts) == ("waiting", 0)
    assert fresh(job).scene


def test_old_jobs_and_dead_workers_are_forgotten(start, worker):
    job = start("steady")
    queue.finish(queue.claim_next(worker, KINDS), "done", result=1)
    queue.reap()
    assert Job.objects.count() == Worker.objects.count() == 1
    Job.objects.filter(pk=job.pk).update(finished_at=Now() - queue.KEPT_FOR - timedelta(days=1))
    Worker.objects.update(heartbeat=Now() - queue.WORKERS_KEPT_FOR - timedelta(hours=1))
    queue.reap()
    assert Job.objects.count() == Worker.objects.count() == 0
    queue.beat(worker, None)  # it only slept
    assert queue.living_workers().get().pk == worker.pk


def test_a_share_beyond_its_bounds_is_kept_within(start, worker):
    job = start("steady")
    run = queue.claim_next(worker, KINDS)
    queue.note(run, 1.7, "x" * 500, {"best": 1.0, "bound": None})
    assert (fresh(job).done_share, len(fresh(job).doing)) == (1.0, 200)
