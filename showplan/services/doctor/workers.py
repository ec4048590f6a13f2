"""Whether somebody computes what is asked for."""

from datetime import timedelta

from django.db.models.functions import Now

from showplan.records.models import Job
from showplan.services.doctor.diagnosis import Verdict, fail, ok, warn
from showplan.services.jobs.queue import living_workers

USUAL_WAIT = timedelta(minutes=1)
START_ONE = "start one with manage.py worker, and keep it running; deploy/run.sh does"


def worker() -> Verdict:
    """One lives, and no job waits without one."""
    waiting = Job.objects.filter(state=Job.State.WAITING)
    alive = living_workers().count()
    if alive:
        return ok(f"{alive} alive, {waiting.count()} jobs waiting")
    if waiting.filter(created_at__lt=Now() - USUAL_WAIT).exists():
        return fail(f"none alive, and {waiting.count()} jobs waiting", START_ONE)
    return warn("none alive: long computations would wait", START_ONE)
