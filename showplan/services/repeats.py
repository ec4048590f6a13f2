"""A POST that is sent twice has one effect: answers kept under the caller's Idempotency-Key."""

from dataclasses import dataclass
from datetime import timedelta

from django.db import IntegrityError, transaction
from django.utils import timezone

from showplan.records.models import KeptAnswer
from showplan.services.errors import ServiceError

KEPT_FOR = timedelta(hours=24)
# A first call that has not ended after this long is taken for dead, and its key is free again.
LONGEST_CALL = timedelta(minutes=5)


class KeyInUse(ServiceError):
    """The first call with this key is still under way."""


class KeyOfAnotherCall(ServiceError):
    """The key was used for a call with another address or body."""


@dataclass(frozen=True)
class Answer:
    """What was answered."""

    status: int
    headers: dict[str, str]
    body: str


def begin(caller: str, key: str, request_hash: str) -> KeptAnswer | Answer:
    """A row to `keep` the answer in, or the Answer of the first such call. Raises KeyInUse, KeyOfAnotherCall."""
    now = timezone.now()
    KeptAnswer.objects.filter(created_at__lt=now - KEPT_FOR).delete()
    KeptAnswer.objects.filter(caller=caller, key=key, status=None, created_at__lt=now - LONGEST_CALL).delete()
    try:
        with transaction.atomic():
            return KeptAnswer.objects.create(caller=caller, key=key, request_hash=request_hash)
    except IntegrityError:
        first = KeptAnswer.objects.filter(caller=caller, key=key).first()
    if first is None:
        raise KeyInUse("the first call with this key has just ended; send it again")
    if first.request_hash != request_hash:
        raise KeyOfAnotherCall("this Idempotency-Key was used for another call; use a new one")
    if first.status is None:
        raise KeyInUse("the first call with this key is still under way; ask again in a moment")
    return Answer(first.status, first.headers, first.body)


def keep(row: KeptAnswer, answer: Answer) -> None:
    """Keep the answer for repeats."""
    KeptAnswer.objects.filter(pk=row.pk).update(status=answer.status, headers=answer.headers, body=answer.body)


def forget(row: KeptAnswer) -> None:
    """The call had no effect: its key is free for another try."""
    KeptAnswer.objects.filter(pk=row.pk).delete()
