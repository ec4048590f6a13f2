"""Looking at jobs."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from showplan.records.models import Job, Venue
from showplan.services.jobs.kind import Kind
from showplan.services.jobs.kinds import KINDS
from showplan.services.rights import Caller, one_of, projects_of

# What says how a job fares, without the result, which may be long.
SUMMARY = (
    "id",
    "project",
    "venue",
    "kind",
    "state",
    "parameters",
    "scene_fingerprint",
    "planner_version",
    "done_share",
    "doing",
    "partial",
    "cancel_requested",
    "attempts",
    "started_by_name",
    "problem",
    "created_at",
    "started_at",
    "finished_at",
)


def job_named(caller: Caller, job_id: UUID | str) -> Job:
    """A job of a project that the caller may see. Raises NotFound."""
    jobs = Job.objects.select_related("project", "venue").defer("scene")
    return one_of(jobs.filter(project__in=projects_of(caller)), job_id, "job")


def jobs_of(venue: Venue) -> QuerySet[Job]:
    """The jobs of a venue, newest first, without their results."""
    return Job.objects.filter(venue=venue).defer("scene", "result")


def job_summary(job: Job) -> dict[str, Any]:
    """A job as JSON values, without its result."""
    keys = {"project": job.project_id, "venue": job.venue_id}
    return {name: keys[name] if name in keys else getattr(job, name) for name in SUMMARY}


def job_values(job: Job) -> dict[str, Any]:
    """A job as JSON values; `result` is null until there is one."""
    return {**job_summary(job), "result": job.result}


def result_in_words(job: Job) -> list[str]:
    """The result in a few sentences; none where there is none, or the kind is of another version."""
    kind = KINDS.get(job.kind)
    return list(kind.in_words(job.result)) if kind and job.result is not None else []


def kind_of(job: Job) -> Kind | None:
    """The kind of a job; None where this version does not have it."""
    return KINDS.get(job.kind)
