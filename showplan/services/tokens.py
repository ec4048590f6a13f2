"""Tokens for scripts: making, finding, revoking."""

from collections.abc import Collection
from datetime import datetime, timedelta

from django.db.models import QuerySet
from django.utils import timezone
from django.utils.crypto import get_random_string

from showplan.records.doors import LONGEST_PREFIX
from showplan.records.models import Project, Token, User
from showplan.services import secrets
from showplan.services.errors import FieldFault, InvalidInput
from showplan.services.rights import SCOPES, Caller, one_of, role_in

KIND = "spt"  # what a Showplan token starts with, so that a leaked one can be recognised
LONGEST_DAYS = 730
# A token's last use is written at most this often: a script must not cost a write for each read.
LAST_USE_STEP = timedelta(minutes=5)


def make_token(
    *, user: User, name: str, scopes: Collection[str], days: int, project: Project | None = None
) -> tuple[Token, str]:
    """A new token and its text, which is not kept anywhere. Raises InvalidInput."""
    faults = [
        FieldFault("scopes", f"{scope!r} is no scope; known: {', '.join(SCOPES)}")
        for scope in scopes
        if scope not in SCOPES
    ]
    if not scopes:
        faults.append(FieldFault("scopes", f"name at least one of {', '.join(SCOPES)}"))
    if not 1 <= days <= LONGEST_DAYS:
        faults.append(FieldFault("days", f"must be from 1 to {LONGEST_DAYS}, not {days}"))
    if not name.strip() or len(name) > 80:
        faults.append(FieldFault("name", "must have 1 to 80 characters"))
    if project is not None and role_in(Caller(user), project) is None:
        faults.append(FieldFault("project", f"{user.get_username()} is no member of {project.name!r}"))
    if faults:
        raise InvalidInput(faults)
    secret = secrets.new_secret()
    token = Token.objects.create(
        user=user,
        project=project,
        name=name,
        prefix=get_random_string(LONGEST_PREFIX),
        secret_hash=secrets.hash_of(secret),
        expires_at=timezone.now() + timedelta(days=days),
        **{f"can_{scope}": scope in scopes for scope in SCOPES},
    )
    return token, f"{KIND}_{token.prefix}_{secret}"


def token_behind(text: str) -> Token | None:
    """The live token with that text, its user loaded, or None: unknown, expired, revoked, or its user inactive."""
    kind, _, rest = text.partition("_")
    prefix, _, secret = rest.partition("_")
    if kind != KIND or not prefix.isalnum():  # a text that no prefix can be; not every database takes it
        return None
    token = Token.objects.select_related("user").filter(prefix=prefix).first()
    if token is None or not secrets.matches(secret, token.secret_hash):
        return None
    now = timezone.now()
    if token.revoked_at is not None or token.expires_at <= now or not token.user.is_active:
        return None
    _note_use(token, now)
    return token


def tokens_of(caller: Caller) -> QuerySet[Token]:
    """The caller's own tokens, the revoked ones included; a token that is bound to a project sees its project's."""
    if not isinstance(caller.user, User):
        return Token.objects.none()
    tokens = Token.objects.filter(user=caller.user).select_related("project")
    return tokens.filter(project_id=caller.token.project_id) if caller.token and caller.token.project_id else tokens


def revoke_token(caller: Caller, token_id: str) -> Token:
    """End a token of the caller's at once. Raises NotFound."""
    caller.refuse_without("write")
    token = one_of(tokens_of(caller), token_id, "token")
    if token.revoked_at is None:
        token.revoked_at = timezone.now()
        token.save(update_fields=["revoked_at"])
    return token


def _note_use(token: Token, now: datetime) -> None:
    if token.last_used_at is None or now - token.last_used_at > LAST_USE_STEP:
        Token.objects.filter(pk=token.pk).update(last_used_at=now)
