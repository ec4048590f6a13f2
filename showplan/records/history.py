"""Who changed what, when, from which value to which: one row for each record that a change touches."""

import uuid

from django.db import models

from showplan.records.base import LONGEST_NAME
from showplan.records.people import Project, User
from showplan.records.venues import Venue


class Change(models.Model):
    """One record created, updated or deleted. `before` and `after` hold the fields that differ.

    Rows of one edit share the project's `revision`. The actor's name is kept beside the key, so that the
    history can still be read when the account is gone; so is the venue's name.
    """

    class Action(models.TextChoices):
        CREATED = "created"
        UPDATED = "updated"
        DELETED = "deleted"

    id = models.BigAutoField(primary_key=True)
    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="changes")
    revision = models.PositiveIntegerField()
    venue = models.ForeignKey(Venue, on_delete=models.SET_NULL, null=True, related_name="changes")
    venue_name = models.CharField(max_length=LONGEST_NAME, blank=True)
    venue_revision = models.PositiveIntegerField(null=True)
    record_kind = models.CharField(max_length=40)
    record_id = models.UUIDField(default=uuid.uuid4)
    record_name = models.CharField(max_length=200)
    action = models.CharField(max_length=10, choices=Action)
    actor = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="changes")
    actor_name = models.CharField(max_length=150)
    via = models.CharField(max_length=40)
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("-id",)
        indexes = (
            models.Index(fields=("project", "-id"), name="change_by_project"),
            models.Index(fields=("record_id", "-id"), name="change_by_record"),
        )

    def __str__(self) -> str:
        return f"{self.record_kind} {self.record_name} {self.action}"
