"""Who works on what: users, projects, crews and memberships."""

import uuid

from django.contrib.auth.models import AbstractUser
from django.db import models

from showplan.records.base import LONGEST_NAME, Record


class User(AbstractUser):
    """A person who signs in."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)


class Project(Record):
    """One show or tour: its crews, kit, venues and dates. `revision` grows with every change of any of them."""

    owner = ()

    name = models.CharField(max_length=LONGEST_NAME)
    note = models.TextField(blank=True)
    revision = models.PositiveIntegerField(default=0, editable=False)

    class Meta:
        ordering = ("name", "id")


class Crew(Record):
    """The people of one department in a project."""

    owner = ("project",)

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="crews")
    name = models.CharField(max_length=LONGEST_NAME)

    class Meta:
        ordering = ("name", "id")
        constraints = (models.UniqueConstraint(fields=("project", "name"), name="crew_name_unique"),)


class Membership(Record):
    """A user's one role in one project, and the crew they belong to."""

    owner = ("project",)
    natural_key = "user"

    class Role(models.TextChoices):
        OWNER = "owner"
        EDITOR = "editor"
        VIEWER = "viewer"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="memberships")
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role)
    crew = models.ForeignKey(Crew, on_delete=models.SET_NULL, null=True, blank=True, related_name="memberships")

    class Meta:
        ordering = ("user__username",)
        constraints = (
            models.UniqueConstraint(fields=("project", "user"), name="membership_one_per_user"),
            models.CheckConstraint(
                condition=models.Q(role__in=("owner", "editor", "viewer")), name="membership_role_known"
            ),
        )
