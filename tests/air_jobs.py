"""Finished packet simulations for the tests: a venue's real job, simulated for a moment, or with a given result."""

from copy import deepcopy
from typing import Any

from django.utils import timezone

from showplan.planner.scene_file import fingerprint
from showplan.planner.watch import Unwatched
from showplan.records.models import Job, User, Venue
from showplan.services.jobs.kind import read_parameters
from showplan.services.jobs.kinds.packet_simulation import KIND, NAME
from showplan.services.jobs.starting import start_job
from showplan.services.rights import Caller
from showplan.services.scenes import build_scene

_FOUND: dict[tuple[str, str], dict[str, Any]] = {}  # many tests look at the same tour
WISHES = {"network": "Show", "seconds": 10.0, "replications": 4}


def simulated_result(venue: Venue, **wishes: Any) -> dict[str, Any]:
    """What the simulation of the venue finds."""
    scene, parameters = build_scene(venue), read_parameters(KIND, WISHES | wishes)
    key = fingerprint(scene), parameters.model_dump_json()
    if key not in _FOUND:
        _FOUND[key] = KIND.compute(scene, parameters, Unwatched())
    return deepcopy(_FOUND[key])


def simulated_job(venue: Venue, user: User, result: dict[str, Any] | None = None, **wishes: Any) -> Job:
    """A job that is done, with what the simulation finds or with the given result."""
    job = start_job(Caller(user), venue, NAME, WISHES | wishes)
    now = timezone.now()
    Job.objects.filter(pk=job.pk).update(
        state="done",
        result=result or simulated_result(venue, **wishes),
        scene="",
        done_share=1.0,
        started_at=now,
        finished_at=now,
    )
    return Job.objects.get(pk=job.pk)
