"""The commands around jobs, and what the doctor says of workers."""

import io
import json
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db.models.functions import Now

from showplan.records.models import Job, Worker
from showplan.services.doctor import examine
from showplan.services.jobs import queue
from showplan.services.jobs.kinds import KINDS
from showplan.services.jobs.worker import work
from tests.services.jobs.conftest import age, meanwhile, wait_for

pytestmark = pytest.mark.django_db


def run(*arguments, complaints=None):
    """What a command prints, complains and ends with."""
    out, complaints = io.StringIO(), complaints or io.StringIO()
    try:
        call_command(*arguments, stdout=out, stderr=complaints, no_color=True)
    except SystemExit as leaving:
        return out.getvalue(), complaints.getvalue(), leaving.code
    return out.getvalue(), complaints.getvalue(), 0


def test_a_job_is_started_once(tour):
    printed, _, code = run("job", tour.venue.name, "coverage-of-levels", "step_m=2", "network=Show")
    job = Job.objects.get()
    assert (printed, code) == (f"{job.pk} waiting\n", 0)
    assert (job.parameters["step_m"], job.parameters["network"]) == (2.0, "Show")
    assert (job.started_by, job.started_by_name, job.via) == (None, "the command line", "command")
    assert run("job", tour.venue.name, "coverage-of-levels", "network=Show", "step_m=2.0")[0] == printed


def test_bad_input_ends_with_2(tour):
    for arguments in (["steady", "steps"], ["steady", "steps=none"], ["steady", "colour=red"], ["horoscope"]):
        printed, complaints, code = run("job", tour.venue.name, *arguments)
        assert (printed, code) == ("", 2), arguments
        assert complaints.startswith(arguments[-1].partition("=")[0] if "=" in arguments[-1] else ("steps", "kind"))
    assert run("job", "Nowhere", "steady")[2] == 1
    with pytest.raises(CommandError):
        run("job", tour.venue.name)


@pytest.mark.django_db(transaction=True)
def test_waiting_prints_progress_and_the_result(tour):
    def waited(*arguments, until):
        complaints = io.StringIO()
        with meanwhile(lambda: run("job", tour.venue.name, *arguments, "--wait", complaints=complaints)) as ended:
            wait_for(lambda: until in complaints.getvalue())
            work(once=True)
        return ended.result()

    nobody = "waiting, but no worker is running: start one with manage.py worker\n"
    printed, complaints, code = waited("coverage-of-levels", "step_m=1", until=nobody)
    assert (complaints.startswith(nobody), code) == (True, 0)
    assert "keeps the fade margin" in printed
    result = json.loads(run("job", tour.venue.name, "coverage-of-levels", "step_m=1", "--wait", "--json")[0])
    assert {one["level"] for one in result["levels"]} == {"Hall", "Gallery"}
    printed, complaints, code = waited("refusing", until=nobody)
    assert (printed, code) == ("", 1)
    assert complaints.endswith("there are no trees on level 'Hall'; plant some\n")


def test_reaping_by_command(start, worker):
    job = start("steady")
    queue.claim_next(worker, KINDS)
    assert run("worker", "--reap")[0] == "0 wait again, 0 failed for good, 0 cancelled\n"
    age(job)
    assert run("worker", "--reap")[0] == "1 wait again, 0 failed for good, 0 cancelled\n"


def test_the_doctor_looks_for_a_worker(start):
    def told():
        return next(one for one in examine() if one.check == "worker")

    assert told().state == "warn"
    start("steady")
    assert told().state == "warn"
    Job.objects.update(created_at=Now() - timedelta(minutes=5))
    assert (told().state, told().found) == ("fail", "none alive, and 1 jobs waiting")
    worker = Worker.objects.create(name="here 1", heartbeat=Now())
    assert (told().state, told().found) == ("ok", "1 alive, 1 jobs waiting")
    Worker.objects.filter(pk=worker.pk).update(heartbeat=Now() - 2 * queue.STALE_AFTER)
    assert told().state == "fail"
