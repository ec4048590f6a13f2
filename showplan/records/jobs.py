"""Long computations, and the workers that take them. Neither is an edit: no history, no revision."""

import uuid
from typing import Final

from django.db import models
from django.db.models import Q

from showplan.records.people import Project, User
from showplan.records.venues import Venue

HASH_LENGTH = 64
LONGEST_DOING = 200
UNFINISHED: Final = ("waiting", "running")
FINISHED: Final = ("done", "failed", "cancelled")


class Job(models.Model):
    """One long computation, from the asking to its result.

    `fingerprint` is that of project, venue, Scene and parameters together; at most one unfinished job of a kind has it.
    `scene` is the Scene as it was asked for, kept until the job ends: a job that is run again computes the same.
    `claim` marks the one run that may write to the row; it is new each time a worker takes the job.
    `partial` holds what is known on the way: {"best": number or null, "bound": number or null}.
    `problem` is {"code": kebab-case word, "detail": sentence}.
    """

    class State(models.TextChoices):
        WAITING = "waiting"
        RUNNING = "running"
        DONE = "done"
        FAILED = "failed"
        CANCELLED = "cancelled"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="jobs")
    venue = models.ForeignKey(Venue, on_delete=models.CASCADE, null=True, related_name="jobs")
    kind = models.CharField(max_length=40)
    parameters = models.JSONField(default=dict)
    scene = models.TextField(blank=True)
    scene_fingerprint = models.CharField(max_length=HASH_LENGTH, blank=True)
    fingerprint = models.CharField(max_length=HASH_LENGTH)
    planner_version = models.CharField(max_length=20)
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    done_share = models.FloatField(default=0.0)
    doing = models.CharField(max_length=LONGEST_DOING, blank=True)
    partial = models.JSONField(null=True)
    cancel_requested = models.BooleanField(default=False)
    attempts = models.PositiveSmallIntegerField(default=0)
    claim = models.UUIDField(null=True)
    worker_name = models.CharField(max_length=120, blank=True)
    heartbeat = models.DateTimeField(null=True)
    started_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="jobs")
    started_by_name = models.CharField(max_length=150)
    via = models.CharField(max_length=40)
    problem = models.JSONField(null=True)
    result = models.JSONField(null=True)
    created_at = models.DateTimeField(auto_now_add=True)
    started_at = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-created_at", "id")
        constraints = (
            models.UniqueConstraint(
                fields=("kind", "fingerprint"), condition=Q(state__in=UNFINISHED), name="job_unfinished_once"
            ),
            models.CheckConstraint(condition=Q(state__in=(*UNFINISHED, *FINISHED)), name="job_state_known"),
            models.CheckConstraint(condition=Q(done_share__gte=0.0, done_share__lte=1.0), name="job_done_share"),
        )
        indexes = (
            models.Index(fields=("created_at", "id"), condition=Q(state__in=UNFINISHED), name="job_queue"),
            models.Index(fields=("venue", "created_at", "id"), name="job_by_venue"),
            models.Index(fields=("kind", "fingerprint"), name="job_by_fingerprint"),
        )

    def __str__(self) -> str:
        return f"{self.kind} {self.pk}"

    @property
    def is_finished(self) -> bool:
        """Whether nothing more will happen to it."""
        return self.state in FINISHED


class Worker(models.Model):
    """A worker process that lives, or died without saying so; its heartbeat tells the two apart."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=120)
    started_at = models.DateTimeField(auto_now_add=True)
    heartbeat = models.DateTimeField()

    class Meta:
        ordering = ("started_at", "id")

    def __str__(self) -> str:
        return self.name
