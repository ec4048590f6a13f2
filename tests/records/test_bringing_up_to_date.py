"""A migration that rebuilds a table meets no guard of another table, and every guard stands again afterwards."""

from importlib import import_module

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import connection
from django.db.models.signals import post_migrate, pre_migrate

from showplan.records.guards import GUARDS
from showplan.records.models import Supply
from tests.tours import a_kit, a_project, a_user

pytestmark = pytest.mark.django_db
RECORDS = apps.get_app_config("records")
NOT_EMPTY = [("a migration", False)]


def _guards() -> set[str]:
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'guard_%'")
        else:
            cursor.execute("SELECT tgname FROM pg_trigger WHERE tgname LIKE 'guard_%'")
        return {name for (name,) in cursor.fetchall()}


def _before(plan: list) -> None:
    pre_migrate.send(sender=RECORDS, app_config=RECORDS, using="default", plan=plan)


def test_guards_make_way_for_a_migration_and_come_back() -> None:
    before = _guards()
    assert len(before) >= len(GUARDS)
    _before([])
    assert _guards() == before  # nothing to migrate: they stay
    _before(NOT_EMPTY)
    # Only SQLite rebuilds tables; PostgreSQL changes them under its triggers.
    assert _guards() == (set() if connection.vendor == "sqlite" else before)
    post_migrate.send(sender=RECORDS, app_config=RECORDS, using="default", plan=NOT_EMPTY)
    assert _guards() == before


@pytest.mark.django_db(transaction=True)
def test_a_database_taken_to_an_older_state_has_no_guards_until_it_is_new_again() -> None:
    before = _guards()
    try:
        call_command("migrate", "records", "0009", verbosity=0)
        assert _guards() == set()
    finally:
        call_command("migrate", verbosity=0)
    assert _guards() == before


@pytest.mark.django_db(transaction=True)
def test_guards_stand_when_all_tables_are_emptied() -> None:
    before = _guards()
    assert before
    call_command("flush", interactive=False, verbosity=0)
    assert _guards() == before


def test_a_chemistry_is_named_by_its_key_and_any_other_text_stays() -> None:
    owner = a_user()
    a_kit(a_project(owner), owner, 2)
    written = {"B0": "LiFePO4", "B1": "li-ion", "B2": "lead gel, workshop", "B3": ""}
    for label, chemistry in written.items():
        Supply.objects.filter(label=label).update(chemistry=chemistry)
    import_module("showplan.records.migrations.0010_power_facts").name_chemistries_by_key(apps, None)
    found = dict(Supply.objects.values_list("label", "chemistry"))
    assert found == {**written, "B0": "lifepo4"}
    assert dict(Supply.objects.values_list("label", "version")) == {"B0": 2, "B1": 1, "B2": 1, "B3": 1}
