"""How people and scripts come in: tokens for scripts, invitations for people, and answers kept for repeats."""

import uuid

from django.db import models
from django.db.models import Q

from showplan.records.base import LONGEST_NAME, Record
from showplan.records.people import Crew, Membership, Project, User

LONGEST_PREFIX = 12
HASH_LENGTH = 64
LONGEST_USERNAME = 150
LONGEST_ADDRESS = 64


class Token(models.Model):
    """A script's key: shown once, stored as a keyed hash, never with more rights than its user has.

    Without a project it reaches every project of its user and may start new ones.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="tokens")
    project = models.ForeignKey(Project, on_delete=models.CASCADE, null=True, blank=True, related_name="tokens")
    name = models.CharField(max_length=LONGEST_NAME)
    prefix = models.CharField(max_length=LONGEST_PREFIX, unique=True)
    secret_hash = models.CharField(max_length=HASH_LENGTH)
    can_read = models.BooleanField(default=True)
    can_write = models.BooleanField(default=False)
    can_compute = models.BooleanField(default=False)
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True)
    revoked_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-created_at", "id")

    def __str__(self) -> str:
        return self.name

    @property
    def scopes(self) -> tuple[str, ...]:
        """What the token may do: some of read, write, compute."""
        return tuple(scope for scope in ("read", "write", "compute") if getattr(self, f"can_{scope}"))


class Invitation(Record):
    """A link that makes whoever opens it a member, once, until it expires; the secret is stored as a keyed hash."""

    owner = ("project",)
    natural_key = "role"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="invitations")
    role = models.CharField(max_length=10, choices=Membership.Role)
    crew = models.ForeignKey(Crew, on_delete=models.SET_NULL, null=True, blank=True, related_name="invitations")
    secret_hash = models.CharField(max_length=HASH_LENGTH, unique=True)
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, blank=True)
    accepted_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True, related_name="invitations")

    class Meta:
        ordering = ("-created_at", "id")
        constraints = (
            models.CheckConstraint(condition=Q(role__in=("owner", "editor", "viewer")), name="invitation_role_known"),
        )


class KeptAnswer(models.Model):
    """The answer to a POST that carried an Idempotency-Key: the same call again gets it instead of a second effect.

    `status` is null while the first call is still under way.
    """

    id = models.BigAutoField(primary_key=True)
    caller = models.CharField(max_length=80)
    key = models.CharField(max_length=200)
    request_hash = models.CharField(max_length=HASH_LENGTH)
    status = models.PositiveSmallIntegerField(null=True)
    headers = models.JSONField(default=dict)
    body = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = (models.UniqueConstraint(fields=("caller", "key"), name="kept_answer_once_per_key"),)
        indexes = (models.Index(fields=("created_at",), name="kept_answer_by_age"),)

    def __str__(self) -> str:
        return self.key


class SignInAttempt(models.Model):
    """A try at signing in that has not succeeded: the name as typed and the client's address. Kept for minutes."""

    id = models.BigAutoField(primary_key=True)
    username = models.CharField(max_length=LONGEST_USERNAME)
    address = models.CharField(max_length=LONGEST_ADDRESS)
    at = models.DateTimeField()

    class Meta:
        indexes = (
            models.Index(fields=("address", "username", "at"), name="sign_in_attempt_by_source"),
            models.Index(fields=("at",), name="sign_in_attempt_by_age"),
        )

    def __str__(self) -> str:
        return f"{self.username} from {self.address}"
