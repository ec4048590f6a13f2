"""Shapes of jobs, for the API's description. They describe; the services make the values."""

from typing import Any

from rest_framework import serializers as s

from showplan.records.models import Job


class Partial(s.Serializer[Any]):
    """What is known on the way: the best value so far, and what no answer can beat."""

    best = s.FloatField(allow_null=True)
    bound = s.FloatField(allow_null=True)


class JobProblem(s.Serializer[Any]):
    """Why a job failed."""

    code = s.CharField(help_text="the kind of problem, which stays the same")
    detail = s.CharField(help_text="what was wrong, and what would be right")


class JobSummary(s.Serializer[Any]):
    """How a long computation fares, without its result."""

    id = s.UUIDField()
    project = s.UUIDField()
    venue = s.UUIDField(allow_null=True)
    kind = s.CharField()
    state = s.ChoiceField(choices=[str(state) for state in Job.State])
    parameters = s.DictField(help_text="all of them, those that were left out included")
    scene_fingerprint = s.CharField(help_text="of the Scene as it was when the job was asked for")
    planner_version = s.CharField()
    done_share = s.FloatField(help_text="from 0 to 1")
    doing = s.CharField(allow_blank=True, help_text="what is being done, in words")
    partial = Partial(allow_null=True)
    cancel_requested = s.BooleanField()
    attempts = s.IntegerField(help_text="how often it was begun; the computation is the same each time")
    started_by_name = s.CharField()
    problem = JobProblem(allow_null=True)
    created_at = s.DateTimeField()
    started_at = s.DateTimeField(allow_null=True)
    finished_at = s.DateTimeField(allow_null=True)


class WholeJob(JobSummary):
    """A long computation; `result` is null until there is one, its form depends on the kind."""

    result = s.JSONField()


class JobKind(s.Serializer[Any]):
    """What can be computed as a job."""

    name = s.CharField()
    title = s.CharField()
    about = s.CharField()
    measure = s.CharField(allow_blank=True, help_text="what best and bound count")
    parameters = s.DictField(help_text="JSON Schema (2020-12) of the parameters")
