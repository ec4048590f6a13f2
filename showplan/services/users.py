"""Users as the command line knows them: by name, and made with a password that is told once."""

from django.core.exceptions import ValidationError
from django.utils.crypto import get_random_string

from showplan.records.models import User
from showplan.services.errors import InvalidInput, NotFound
from showplan.services.validation import faults_of

PASSWORD_LENGTH = 20
# Without characters that are taken for each other when a password is read out.
PASSWORD_CHARACTERS = "abcdefghijkmnpqrstuvwxyzABCDEFGHJKLMNPQRSTUVWXYZ23456789"


def user_named(username: str) -> User:
    """The user with that name. Raises NotFound, which lists some there are."""
    found = User.objects.filter(username=username).first()
    if found is None:
        known = ", ".join(User.objects.order_by("username").values_list("username", flat=True)[:20])
        raise NotFound(f"there is no user {username!r}; known: {known or 'none at all'}")
    return found


def make_user(username: str) -> tuple[User, str]:
    """A new user and their password, which is stored as a hash only. Raises InvalidInput."""
    user, password = User(username=username), get_random_string(PASSWORD_LENGTH, PASSWORD_CHARACTERS)
    user.set_password(password)
    try:
        user.full_clean()
    except ValidationError as error:
        raise InvalidInput(faults_of(error)) from error
    user.save(force_insert=True)
    return user, password
