"""The kinds of the tests, and workers: in this process, or as real processes beside it."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

import pytest
from django.conf import settings
from django.db import connection
from django.db.models.functions import Now

from showplan.records.models import Job, User, Worker
from showplan.services.jobs import queue
from showplan.services.jobs.kinds import KINDS
from showplan.services.jobs.starting import start_job
from showplan.services.rights import Caller
from tests.conftest import Tour
from tests.services.jobs.kinds import TEST_KINDS

LONGEST_WAIT_S = 60.0
Row = TypeVar("Row", Job, Worker)


@pytest.fixture(autouse=True)
def _kinds_of_the_tests(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, kind in TEST_KINDS.items():
        monkeypatch.setitem(KINDS, name, kind)


@pytest.fixture
def start(tour: Tour, owner: User) -> Callable[..., Job]:
    """Asks for a job as the owner: `start("steady", steps=3)`."""

    def ask(kind: str, **parameters: Any) -> Job:
        return start_job(Caller(owner), tour.venue, kind, parameters)

    return ask


@pytest.fixture
def worker(db: None) -> Worker:
    """The row of a worker that lives."""
    return Worker.objects.create(name="here 1", heartbeat=Now())


@pytest.fixture
def run_worker() -> Iterator[Callable[..., "subprocess.Popen[str]"]]:
    """Starts `manage.py worker` as a process of its own; what is left at the end is killed."""
    running: list[subprocess.Popen[str]] = []

    def run(*arguments: str, started_by: Sequence[str] = ()) -> "subprocess.Popen[str]":
        name = str(connection.settings_dict["NAME"])
        process = subprocess.Popen(
            [*started_by, sys.executable, "-m", "tests.services.jobs.worker_process", name, *arguments],
            cwd=settings.BASE_DIR,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        running.append(process)
        return process

    yield run
    for process in running:
        process.kill()
        process.wait()
        assert process.stdout is not None
        process.stdout.close()


def wait_for(what: Callable[[], Any], process: "subprocess.Popen[str] | None" = None) -> Any:
    """What the call gives as soon as it is true; fails where the process ends before, or nothing comes."""
    until_s = time.monotonic() + LONGEST_WAIT_S
    while time.monotonic() < until_s:
        found = what()
        if found:
            return found
        if process is not None and process.poll() is not None:
            pytest.fail(f"the worker left: {process.communicate()[0]}")
        time.sleep(0.1)
    pytest.fail("nothing came")


def fresh(row: Row) -> Row:
    """The job or worker as the database has it now."""
    return type(row).objects.get(pk=row.pk)


def age(job: Job) -> None:
    """As if the job's last heartbeat were too long ago."""
    Job.objects.filter(pk=job.pk).update(heartbeat=Now() - 2 * queue.STALE_AFTER)


def children_of(pid: int) -> list[int]:
    """The processes that a process has started."""
    return [int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def kill(pid: int) -> None:
    """As the kernel does when memory runs out."""
    os.kill(pid, signal.SIGKILL)


@contextmanager
def meanwhile(call: Callable[[], Any]) -> "Iterator[Future[Any]]":
    """Make the call in a thread with a connection of its own while the block lasts; its errors are the block's."""

    def made() -> Any:
        try:
            return call()
        finally:
            connection.close()

    with ThreadPoolExecutor(1) as pool:
        future = pool.submit(made)
        yield future
    future.result()
