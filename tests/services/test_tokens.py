"""Tokens, below the API."""

from datetime import timedelta

import pytest
from django.test import override_settings
from django.utils import timezone

from showplan.records.models import Token, User
from showplan.services.errors import InvalidInput, NotAllowed, NotFound
from showplan.services.rights import Caller
from showplan.services.tokens import make_token, revoke_token, token_behind, tokens_of
from tests.conftest import Tour

pytestmark = pytest.mark.django_db


def test_the_text_is_not_kept_and_is_worth_nothing_under_another_key(owner: User) -> None:
    token, text = make_token(user=owner, name="night job", scopes=("read",), days=1)
    assert token_behind(text) == token
    kept = str(Token.objects.values().get())
    assert text.rpartition("_")[2] not in kept
    assert len(text) > 55
    with override_settings(SECRET_KEY="another key of the server's"):
        assert token_behind(text) is None


def test_two_tokens_differ_in_prefix_and_secret(owner: User) -> None:
    (one, first), (other, second) = (
        make_token(user=owner, name="job", scopes=("read", "write"), days=730) for _ in range(2)
    )
    assert one.prefix != other.prefix
    mixed = f"spt_{one.prefix}_{second.rpartition('_')[2]}"
    assert token_behind(mixed) is None
    assert token_behind(first) == one
    assert one.scopes == ("read", "write")


@pytest.mark.parametrize("text", ["", "_", "spt", "spt__", "spt_\x00_", "sp_x_y", "SPT_x_y", "spt_%_y", "spt_ü_y"])
def test_a_text_that_is_no_token(db: None, text: str) -> None:
    assert token_behind(text) is None


def test_every_fault_is_named(tour: Tour, outsider: User) -> None:
    with pytest.raises(InvalidInput) as caught:
        make_token(user=outsider, name="", scopes=("read", "rule"), days=731, project=tour.project)
    assert {fault.field for fault in caught.value.faults} == {"name", "scopes", "days", "project"}
    with pytest.raises(InvalidInput, match="name at least one"):
        make_token(user=outsider, name="x", scopes=(), days=1)


def test_a_token_ends_when_it_expires_is_revoked_or_its_user_is_inactive(owner: User) -> None:
    token, text = make_token(user=owner, name="job", scopes=("write",), days=1)
    Token.objects.update(expires_at=timezone.now())
    assert token_behind(text) is None
    Token.objects.update(expires_at=timezone.now() + timedelta(minutes=1))
    User.objects.update(is_active=False)
    assert token_behind(text) is None
    User.objects.update(is_active=True)
    assert token_behind(text) == token
    revoked = revoke_token(Caller(owner), str(token.pk))
    again = revoke_token(Caller(owner), str(token.pk))
    assert again.revoked_at == revoked.revoked_at
    assert token_behind(text) is None


def test_tokens_are_the_callers_own(tour: Tour, owner: User, editor: User) -> None:
    wide, _ = make_token(user=owner, name="wide", scopes=("write",), days=1)
    bound, _ = make_token(user=owner, name="bound", scopes=("write",), days=1, project=tour.project)
    reader, _ = make_token(user=owner, name="reader", scopes=("read",), days=1)
    assert set(tokens_of(Caller(owner, wide))) == {wide, bound, reader}
    assert list(tokens_of(Caller(owner, bound))) == [bound]
    for caller, key in ((Caller(editor), wide.pk), (Caller(owner, bound), wide.pk), (Caller(owner), "7")):
        with pytest.raises(NotFound):
            revoke_token(caller, str(key))
    with pytest.raises(NotAllowed):
        revoke_token(Caller(owner, reader), str(wide.pk))
