"""Answers kept under an Idempotency-Key, below the API."""

from datetime import timedelta

import pytest
from django.utils import timezone

from showplan.records.models import KeptAnswer
from showplan.services.repeats import KEPT_FOR, LONGEST_CALL, Answer, KeyInUse, KeyOfAnotherCall, begin, forget, keep

pytestmark = pytest.mark.django_db
ANSWER = Answer(201, {"ETag": '"1"'}, '{"id":1}')
ONE, OTHER = "1" * 64, "2" * 64


def begun(caller: str = "user 1", key: str = "k", request_hash: str = ONE) -> KeptAnswer:
    """A call that is let through."""
    row = begin(caller, key, request_hash)
    assert isinstance(row, KeptAnswer)
    return row


def test_the_first_answer_is_given_again() -> None:
    keep(begun(), ANSWER)
    assert begin("user 1", "k", ONE) == ANSWER
    with pytest.raises(KeyOfAnotherCall):
        begin("user 1", "k", OTHER)
    begun(caller="user 2")
    begun(key="l")


def test_a_call_under_way_holds_its_key_for_a_while() -> None:
    row = begun()
    with pytest.raises(KeyInUse):
        begin("user 1", "k", ONE)
    KeptAnswer.objects.update(created_at=timezone.now() - LONGEST_CALL - timedelta(seconds=1))
    assert begun().pk != row.pk


def test_a_call_without_effect_frees_its_key() -> None:
    forget(begun())
    keep(begun(request_hash=OTHER), ANSWER)
    assert begin("user 1", "k", OTHER) == ANSWER


def test_old_answers_are_thrown_away() -> None:
    keep(begun(), ANSWER)
    keep(begun(key="other"), ANSWER)
    KeptAnswer.objects.update(created_at=timezone.now() - KEPT_FOR - timedelta(seconds=1))
    begun(caller="user 3")
    assert KeptAnswer.objects.count() == 1


def test_an_answer_that_ends_late_disturbs_no_other() -> None:
    """The first call was taken for dead and its key given on; what it says at last reaches nobody."""
    late = begun()
    KeptAnswer.objects.update(created_at=timezone.now() - LONGEST_CALL - timedelta(seconds=1))
    second = begun()
    keep(late, ANSWER)
    forget(late)
    second.refresh_from_db()
    assert second.status is None
