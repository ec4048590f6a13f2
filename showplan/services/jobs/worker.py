"""The process that takes waiting jobs, one after another, and computes each in a process of its own."""

import logging
import os
import signal
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Any, TypeVar

from django.db import DatabaseError, DataError, close_old_connections, connection
from django.db.models.functions import Now

from showplan.records.models import Job, Worker
from showplan.services.jobs import queue
from showplan.services.jobs.child import GRACE_S
from showplan.services.jobs.heart import Heart
from showplan.services.jobs.kinds import KINDS
from showplan.services.jobs.process import Computation

log = logging.getLogger("showplan.jobs")
IDLE_S = 1.0  # between two looks into the queue
STEP_S = 0.25  # between two looks at what matters while computing
NOTE_S = 1.0  # between two visits to the database while computing
MORE_GRACE_S = GRACE_S + 0.5  # the computing process ends itself first
INSIST_S = 60.0
STATE = Job.State
Answer = TypeVar("Answer")


def work(*, once: bool = False, beside: int | None = None, say: Callable[[str], Any] = log.info) -> None:
    """Take jobs until a signal (SIGTERM, SIGINT), or with `once` until none waits; `say` is told each step.

    A signal gives the job under way back to the queue. `beside`: leave when that process, which
    started this one, ends.
    """
    leaving = threading.Event()
    with _signals_set(leaving), _registered() as worker, Heart(worker) as heart:
        reaped = queue.reap()
        if reaped.again:
            say(f"{reaped.again} of dead workers wait again")
        while not leaving.is_set():
            close_old_connections()
            if _is_orphan(beside):
                break
            try:
                job = queue.claim_next(worker, KINDS)
                if job is not None:
                    heart.claim = job.claim
                    say(f"{job.kind} {job.pk}: attempt {job.attempts}")
                    say(f"{job.kind} {job.pk}: {_run(job, leaving, beside)}")
                elif once:
                    break
            except DatabaseError as error:
                log.warning("the database does not answer: %s", " ".join(str(error).split()))
                connection.close()
                job = None
            finally:
                heart.claim = None
            if job is None:
                leaving.wait(IDLE_S)


def _run(job: Job, leaving: threading.Event, beside: int | None) -> str:
    """Compute the job and write how it ended; returns that in words."""
    with Computation(KINDS[job.kind], job) as computing:
        stop_at_s, visited_s, noted = float("inf"), time.monotonic(), None
        while not computing.has_ended and computing.outcome is None and time.monotonic() < stop_at_s:
            computing.listen(STEP_S)
            if leaving.is_set() or _is_orphan(beside):
                computing.kill()
                _insist(lambda: queue.give_back(job))
                return "given back"
            if time.monotonic() - visited_s < NOTE_S:
                continue
            visited_s = time.monotonic()
            news = computing.report if computing.report is not noted else None
            noted = computing.report
            order = _visit(job, news)
            if order == "lost":
                return "lost: deleted, or taken by another worker"
            if order == "cancel" and stop_at_s == float("inf"):
                computing.ask_to_stop()
                stop_at_s = time.monotonic() + MORE_GRACE_S
        return _insist(lambda: _ended(job, computing, was_cancelled=stop_at_s < float("inf")))


def _is_orphan(beside: int | None) -> bool:
    """Whether the process to stay beside has ended: its children go to another parent."""
    return beside is not None and os.getppid() != beside


def _visit(job: Job, report: dict[str, Any] | None) -> str:
    """Note how far it is, and look whether it is still wanted. A database that stumbles must not end a computation."""
    try:
        if report is not None:
            queue.note(job, report["done"], report["doing"], report["partial"])
        return queue.look(job)
    except DatabaseError as error:
        log.warning("progress not noted: %s", " ".join(str(error).split()))
        connection.close()
        return "go on"


def _ended(job: Job, computing: Computation, *, was_cancelled: bool) -> str:
    outcome = computing.outcome or {}
    report = computing.report
    if report is not None:
        queue.note(job, report["done"], report["doing"], report["partial"])
    if was_cancelled:
        queue.finish(job, STATE.CANCELLED, result=outcome.get("result"))
        return "cancelled"
    if "result" in outcome:
        try:
            return "done" if queue.finish(job, STATE.DONE, result=outcome["result"]) else "done too late"
        except DataError as error:  # PostgreSQL stores no NUL and no half character pairs
            detail = f"the database cannot store the result: {' '.join(str(error).split())}"
            outcome = {"problem": {"code": "fault", "detail": detail}}
    if "problem" in outcome:
        queue.finish(job, STATE.FAILED, problem=outcome["problem"])
        return f"failed: {outcome['problem']['detail']}"
    how = computing.how_it_ended()
    queue.process_died(job, how)
    return f"the computing process {how}"


def _insist(write: Callable[[], Answer]) -> Answer:
    """Write, again and again for a minute where the database does not answer; then somebody else reaps the job."""
    give_up_s = time.monotonic() + INSIST_S
    while True:
        try:
            return write()
        except DatabaseError:
            if time.monotonic() > give_up_s:
                raise
            connection.close()
            time.sleep(IDLE_S)


@contextmanager
def _registered() -> Iterator[Worker]:
    """A row that says that this worker lives, as long as it does."""
    worker = Worker.objects.create(name=f"{socket.gethostname()[:100]} {os.getpid()}", heartbeat=Now())
    try:
        yield worker
    finally:
        with suppress(DatabaseError):
            Worker.objects.filter(pk=worker.pk).delete()


@contextmanager
def _signals_set(leaving: threading.Event) -> Iterator[None]:
    """SIGTERM and SIGINT set the event while the block lasts."""
    before = {one: signal.signal(one, lambda *_: leaving.set()) for one in (signal.SIGTERM, signal.SIGINT)}
    try:
        yield
    finally:
        for one, handler in before.items():
            signal.signal(one, handler)
