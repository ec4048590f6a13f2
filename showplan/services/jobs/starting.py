"""Asking for a job, and taking it back."""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

import rfc8785
from django.db import IntegrityError, transaction
from django.db.models.functions import Now

from showplan.planner import PLANNER_VERSION
from showplan.planner.scene import Scene
from showplan.planner.scene_file import as_document
from showplan.records.jobs import UNFINISHED
from showplan.records.models import Job, User, Venue
from showplan.services.editing import Actor
from showplan.services.errors import FieldFault, InvalidInput, RuleBroken
from showplan.services.jobs.kind import Kind, canonical, read_parameters
from showplan.services.jobs.kinds import KINDS
from showplan.services.jobs.reading import job_named
from showplan.services.rights import Caller, refuse_unless_editor
from showplan.services.scenes import build_scene

# A venue with more jobs than this waiting has a script that runs wild.
MOST_UNFINISHED = 50
STATE = Job.State


def start_job(caller: Caller, venue: Venue, kind_name: str, given: Mapping[str, Any]) -> Job:
    """The job that computes this: a new one, the one that is under way, or the one that is done already.

    Raises NotAllowed, NotFound, InvalidInput, PlanImpossible, and RuleBroken where too many jobs wait.
    """
    kind = KINDS.get(kind_name)
    refuse_unless_editor(caller, venue.project, kind.scope if kind else "compute")
    return start_job_as(caller.actor(), venue, kind_name, given)


def start_job_as(actor: Actor, venue: Venue, kind_name: str, given: Mapping[str, Any]) -> Job:
    """The same without a look at rights: for the command line."""
    kind = KINDS.get(kind_name)
    if kind is None:
        raise InvalidInput([FieldFault("kind", f"there is no such kind of job; known: {', '.join(sorted(KINDS))}")])
    parameters = read_parameters(kind, given)
    scene = build_scene(venue)
    faults = list(kind.check(scene, parameters))
    if faults:
        raise InvalidInput(faults)
    return _found_or_made(_asked_for(actor, venue, kind, canonical(parameters), scene))


def cancel_job(caller: Caller, job_id: Any) -> Job:
    """Take a job back: one that waits is cancelled at once, one that runs within a few seconds; else nothing happens.

    Raises NotFound, NotAllowed.
    """
    job = job_named(caller, job_id)
    refuse_unless_editor(caller, job.project, "compute")
    waiting = Job.objects.filter(pk=job.pk, state=STATE.WAITING)
    if not waiting.update(state=STATE.CANCELLED, cancel_requested=True, scene="", doing="", finished_at=Now()):
        Job.objects.filter(pk=job.pk, state=STATE.RUNNING).update(cancel_requested=True)
    return job_named(caller, job.pk)


def fingerprint_of_job(venue: Venue, scene_fingerprint: str, parameters: str) -> str:
    """SHA-256 of where, of which Scene and with which parameters; nobody meets the job of another venue."""
    facts = {"venue": str(venue.pk), "scene": scene_fingerprint, "parameters": json.loads(parameters)}
    return hashlib.sha256(rfc8785.dumps(facts)).hexdigest()


def _asked_for(actor: Actor, venue: Venue, kind: Kind, parameters: str, scene: Scene) -> Job:
    text = rfc8785.dumps(as_document(scene))
    scene_fingerprint = hashlib.sha256(text).hexdigest()
    assert actor.user is None or isinstance(actor.user, User)
    return Job(
        project_id=venue.project_id,
        venue=venue,
        kind=kind.name,
        parameters=json.loads(parameters),
        scene=text.decode(),
        scene_fingerprint=scene_fingerprint,
        fingerprint=fingerprint_of_job(venue, scene_fingerprint, parameters),
        planner_version=PLANNER_VERSION,
        started_by=actor.user,
        started_by_name=actor.name,
        via=actor.via,
    )


def _found_or_made(asked: Job) -> Job:
    """The database keeps a second unfinished one out; who comes second gets the first."""
    for _ in range(3):
        found = _same_as(asked)
        if found is not None:
            return found
        if Job.objects.filter(venue=asked.venue, state__in=UNFINISHED).count() >= MOST_UNFINISHED:
            raise RuleBroken(f"{MOST_UNFINISHED} jobs of this venue wait already; wait for some, or cancel them")
        try:
            with transaction.atomic():
                asked.save(force_insert=True)
        except IntegrityError:
            continue  # somebody was faster by a moment: look again
        return asked
    raise RuleBroken("the venue changes just now; ask again in a moment")


def _same_as(asked: Job) -> Job | None:
    alike = Job.objects.filter(kind=asked.kind, fingerprint=asked.fingerprint).select_related("project")
    unfinished = alike.filter(state__in=UNFINISHED).first()
    if unfinished is not None:
        return unfinished
    return alike.filter(state=STATE.DONE, planner_version=asked.planner_version).order_by("-finished_at").first()
