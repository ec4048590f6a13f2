"""From state to state: every step is one statement that holds only where the row is still as it was seen.

A run of a job is known by its `claim`. Whoever lost the claim (a worker that slept too long, and was taken for dead)
writes to no row any more. Times are the database's: hosts may differ.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Final, Literal
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import F, QuerySet
from django.db.models.functions import Now

from showplan.planner import PLANNER_VERSION
from showplan.records.jobs import FINISHED, LONGEST_DOING
from showplan.records.models import Job, Worker

STALE_AFTER: Final = timedelta(seconds=60)  # four heartbeats
MOST_ATTEMPTS: Final = 3
KEPT_FOR: Final = timedelta(days=90)  # finished jobs; asking again makes the result again
WORKERS_KEPT_FOR: Final = timedelta(hours=1)
STATE = Job.State


@dataclass(frozen=True)
class Reaped:
    """How many jobs of dead workers wait again, have failed for good, and were cancelled."""

    again: int
    failed: int
    cancelled: int


def claim_next(worker: Worker, kinds: Iterable[str]) -> Job | None:
    """The oldest waiting job of these kinds, now this worker's; None where none waits."""
    waiting = Job.objects.filter(state=STATE.WAITING, kind__in=list(kinds)).order_by("created_at", "id")
    if not waiting.exists():  # so that an idle worker takes no lock
        return None
    with transaction.atomic():
        # PostgreSQL skips what other workers hold; on SQLite the transaction holds the whole database.
        found = waiting.select_for_update(skip_locked=True).values_list("pk", flat=True).first()
        if found is None:
            return None
        claim = uuid4()
        taken = Job.objects.filter(pk=found, state=STATE.WAITING).update(
            state=STATE.RUNNING,
            claim=claim,
            worker_name=worker.name,
            attempts=F("attempts") + 1,
            planner_version=PLANNER_VERSION,
            heartbeat=Now(),
            started_at=Now(),
            done_share=0.0,
            doing="starting",
            partial=None,
        )
        return Job.objects.get(pk=found) if taken else None


def beat(worker: Worker, claim: UUID | None) -> None:
    """The worker lives, and so does the run with this claim."""
    if not Worker.objects.filter(pk=worker.pk).update(heartbeat=Now()):
        Worker.objects.create(pk=worker.pk, name=worker.name, heartbeat=Now())  # it was taken for dead
    if claim is not None:
        Job.objects.filter(claim=claim, state=STATE.RUNNING).update(heartbeat=Now())


def note(job: Job, done_share: float, doing: str, partial: dict[str, Any] | None) -> None:
    """How far the run is."""
    _run(job).update(done_share=min(max(done_share, 0.0), 1.0), doing=doing[:LONGEST_DOING], partial=partial)


def look(job: Job) -> Literal["go on", "cancel", "lost"]:
    """What the worker shall do with its run: the job may be cancelled, deleted, or another worker's by now."""
    wanted = _run(job).values_list("cancel_requested", flat=True).first()
    return "lost" if wanted is None else "cancel" if wanted else "go on"


def finish(job: Job, state: str, *, result: Any = None, problem: dict[str, str] | None = None) -> bool:
    """End the run with its result or problem, in one statement; False where the run was lost before."""
    ended = {"state": state, "result": result, "problem": problem, "finished_at": Now(), **_AT_REST}
    return bool(_run(job).update(**ended, **({"done_share": 1.0} if state == STATE.DONE else {})))


def give_back(job: Job) -> None:
    """The worker leaves: the job waits again, and this run does not count as an attempt."""
    _run(job).update(state=STATE.WAITING, attempts=F("attempts") - 1, **_WAITS_AGAIN)


def process_died(job: Job, how: str) -> None:
    """The computing process ended without a word: run it again, or give up for good."""
    if job.attempts >= MOST_ATTEMPTS:
        detail = f"the computing process {how}; it was tried {MOST_ATTEMPTS} times"
        finish(job, STATE.FAILED, problem={"code": "process-died", "detail": detail})
    else:
        _run(job).update(state=STATE.WAITING, **_WAITS_AGAIN)


def reap() -> Reaped:
    """Find the jobs of dead workers, and forget what is older than it is kept."""
    stale = Job.objects.filter(state=STATE.RUNNING, heartbeat__lt=Now() - STALE_AFTER)
    detail = f"the worker died or lost the database while it ran; it was tried {MOST_ATTEMPTS} times"
    cancelled = stale.filter(cancel_requested=True).update(state=STATE.CANCELLED, finished_at=Now(), **_AT_REST)
    failed = stale.filter(attempts__gte=MOST_ATTEMPTS).update(
        state=STATE.FAILED, problem={"code": "worker-died", "detail": detail}, finished_at=Now(), **_AT_REST
    )
    again = stale.update(state=STATE.WAITING, **_WAITS_AGAIN)
    Worker.objects.filter(heartbeat__lt=Now() - WORKERS_KEPT_FOR).delete()
    Job.objects.filter(state__in=FINISHED, finished_at__lt=Now() - KEPT_FOR).delete()
    return Reaped(again, failed, cancelled)


def living_workers() -> QuerySet[Worker]:
    """The workers whose heart beats."""
    return Worker.objects.filter(heartbeat__gte=Now() - STALE_AFTER)


_AT_REST: Final[dict[str, Any]] = {"claim": None, "scene": "", "doing": ""}
_WAITS_AGAIN: Final[dict[str, Any]] = {"claim": None, "heartbeat": None, "doing": "waits to be run again"}


def _run(job: Job) -> QuerySet[Job]:
    return Job.objects.filter(pk=job.pk, state=STATE.RUNNING, claim=job.claim)
