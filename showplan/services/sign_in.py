"""Slowing down guesses at passwords: so many failures for a name at an address, and for an address.

Every try counts as a failure until it succeeds, and is written before the others are counted: of tries at the same
moment each sees the other, so none slips past.
"""

import unicodedata
from datetime import timedelta

from django.db.models import QuerySet
from django.utils import timezone

from showplan.records.doors import LONGEST_ADDRESS, LONGEST_USERNAME
from showplan.records.models import SignInAttempt
from showplan.services.errors import ServiceError

WINDOW = timedelta(minutes=15)
MOST_FOR_NAME = 10
MOST_FOR_ADDRESS = 50


class TooManyTries(ServiceError):
    """Nobody may try again before `wait_s` seconds have passed."""

    def __init__(self, wait_s: int) -> None:
        self.wait_s = wait_s
        minutes = -(-wait_s // 60)
        super().__init__(f"too many failed tries: try again in {minutes} minute{'' if minutes == 1 else 's'}")


def begin_try(username: str, address: str) -> None:
    """Count a try before its password is looked at. Raises TooManyTries; then the try is not counted."""
    name, address = _plain(username), address[:LONGEST_ADDRESS]
    now = timezone.now()
    SignInAttempt.objects.filter(at__lte=now - WINDOW).delete()
    own = SignInAttempt.objects.create(username=name, address=address, at=now)
    others = SignInAttempt.objects.filter(address=address).exclude(pk=own.pk)
    waits = [_wait_s(others.filter(username=name), MOST_FOR_NAME), _wait_s(others, MOST_FOR_ADDRESS)]
    if any(waits):
        own.delete()
        raise TooManyTries(max(waits))


def note_success(username: str, address: str) -> None:
    """Forget the failures of a name at an address: whoever knows the password is not guessing."""
    SignInAttempt.objects.filter(username=_plain(username), address=address[:LONGEST_ADDRESS]).delete()


def _wait_s(tries: QuerySet[SignInAttempt], most: int) -> int:
    """Seconds until fewer than `most` tries are left in the window; 0 where there are fewer now."""
    newest = list(tries.order_by("-at").values_list("at", flat=True)[:most])
    if len(newest) < most:
        return 0
    return max(1, round((newest[-1] + WINDOW - timezone.now()).total_seconds()))


def _plain(username: str) -> str:
    """One spelling for names that a reader takes for the same."""
    return unicodedata.normalize("NFKC", username).casefold().replace("\0", "")[:LONGEST_USERNAME]
