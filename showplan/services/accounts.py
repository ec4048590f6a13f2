"""Accounts made by people themselves: only behind an invitation."""

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from showplan.records.models import Membership, User
from showplan.services.errors import FieldFault, InvalidInput
from showplan.services.members import accept, invitation_behind
from showplan.services.rights import Caller
from showplan.services.validation import faults_of


def join_with_new_account(*, secret: str, username: str, password: str, password_again: str) -> Membership:
    """A new user who becomes a member by an invitation; neither without the other.

    Raises NotFound where the invitation opens nothing, InvalidInput for the name or the password.
    """
    invitation_behind(secret)
    user = User(username=User.normalize_username(username))
    faults = [*_name_faults(user), *_password_faults(user, password, password_again)]
    if faults:
        raise InvalidInput(faults)
    user.set_password(password)
    try:
        with transaction.atomic():
            user.save(force_insert=True)
            return accept(Caller(user=user), secret)
    except IntegrityError as error:
        raise InvalidInput([FieldFault("username", _taken(user.username))]) from error


def _name_faults(user: User) -> list[FieldFault]:
    try:
        user.clean_fields(exclude={"password"})
    except ValidationError as error:
        return faults_of(error)
    if User.objects.filter(username__iexact=user.username).exists():
        return [FieldFault("username", _taken(user.username))]
    return []


def _password_faults(user: User, password: str, again: str) -> list[FieldFault]:
    if password != again:
        return [FieldFault("password_again", "the two passwords differ")]
    try:
        validate_password(password, user)
    except ValidationError as error:
        return [FieldFault("password", message) for message in error.messages]
    return []


def _taken(username: str) -> str:
    return f"somebody is called {username!r} already; if it is you, sign in instead"
