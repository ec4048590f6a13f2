"""Guessing at passwords is slowed down by name and by address."""

from datetime import timedelta

import pytest
from django.db.models import F
from django.test import Client

from showplan.records.models import SignInAttempt
from showplan.services.sign_in import MOST_FOR_ADDRESS, MOST_FOR_NAME, WINDOW
from tests.conftest import PASSWORD
from tests.frontend.editing.desk import fill_in
from tests.frontend.pages import words_of


def try_in(username: str, password: str, address: str = "192.0.2.1", **headers: str):
    """One try from an address, with a fresh browser."""
    client = Client(enforce_csrf_checks=True, REMOTE_ADDR=address, headers=headers)
    return fill_in(client, "/sign-in/", username=username, password=password)


def failed(username: str, count: int, address: str = "192.0.2.1") -> None:
    """So many failures, just now."""
    for _ in range(count):
        assert try_in(username, "wrong", address).status_code == 200


@pytest.fixture
def _quick_hashes(settings):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("_quick_hashes")]


def test_the_next_try_is_refused_even_with_the_right_password(owner):
    failed(owner.username, MOST_FOR_NAME)
    answer = try_in(owner.username, PASSWORD)
    assert answer.status_code == 429
    assert 0 < int(answer["Retry-After"]) <= WINDOW.total_seconds()
    assert "Too many failed tries: try again in 15 minutes." in words_of(answer)
    assert try_in(owner.username.upper(), PASSWORD).status_code == 429


def test_one_fewer_is_let_in_and_starts_afresh(owner):
    failed(owner.username, MOST_FOR_NAME - 1)
    assert try_in(owner.username, PASSWORD).status_code == 302
    assert not SignInAttempt.objects.exists()


def test_another_address_is_not_held_up(owner):
    failed(owner.username, MOST_FOR_NAME)
    assert try_in(owner.username, PASSWORD, "192.0.2.2").status_code == 302


def test_an_address_that_tries_many_names_is_held_up(owner):
    for number in range(MOST_FOR_ADDRESS):
        failed(f"name-{number}", 1)
    assert try_in(owner.username, PASSWORD).status_code == 429
    assert try_in(owner.username, PASSWORD, "192.0.2.2").status_code == 302


def test_a_header_that_claims_another_address_changes_nothing(owner):
    failed(owner.username, MOST_FOR_NAME)
    assert try_in(owner.username, PASSWORD, **{"X-Forwarded-For": "198.51.100.7"}).status_code == 429


def test_the_wait_ends_and_old_rows_go(owner):
    failed(owner.username, MOST_FOR_NAME)
    SignInAttempt.objects.update(at=F("at") - WINDOW - timedelta(seconds=1))
    assert try_in(owner.username, PASSWORD).status_code == 302
    assert not SignInAttempt.objects.exists()


def test_an_unknown_name_and_a_wrong_password_read_the_same(owner):
    pages = [try_in(name, "wrong") for name in (owner.username, "nobody-at-all")]
    assert words_of(pages[0]).replace(owner.username, "") == words_of(pages[1]).replace("nobody-at-all", "")
