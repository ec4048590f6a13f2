"""The database: reachable, of a kind and version that is served, up to date, guarded, and not from the future."""

from collections.abc import Sequence
from datetime import timedelta

from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Max
from django.utils import timezone

from showplan.records.guards import GUARDS, Guard
from showplan.records.models import Change
from showplan.services.doctor.diagnosis import Verdict, fail, ok, warn

OLDEST_POSTGRESQL = (14, "14")  # Django 5.2 release notes: PostgreSQL 14 and higher
LONGEST_IDENTIFIER = 63  # PostgreSQL cuts longer ones (NAMEDATALEN - 1)
# Hosts that share one database may differ by so much before anything is wrong.
TOLERATED_DRIFT = timedelta(seconds=10)


def reachable() -> Verdict:
    """It answers; SQLite keeps a write-ahead log, PostgreSQL is new enough."""
    connection.ensure_connection()
    return _postgresql() if connection.vendor == "postgresql" else _sqlite()


def migrations() -> Verdict:
    """Its tables are those of this version."""
    executor = MigrationExecutor(connection)
    waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if waiting:
        found = _listed([f"{migration.app_label} {migration.name}" for migration, _ in waiting])
        return fail(f"not applied: {found}", "stop the service, make a backup, run manage.py migrate")
    return ok("all applied")


def guards_in_place() -> Verdict:
    """Every guard between tables is there."""
    there = _triggers()
    missing = [guard.name for guard in GUARDS if not there.issuperset(_triggers_of(guard))]
    if missing:
        hint = "they are laid by manage.py migrate; a copy of the tables alone does not carry them"
        return fail(f"missing: {_listed(missing)}", hint)
    return ok(f"all {len(GUARDS)} in place")


def clock() -> Verdict:
    """Now is not before the newest row of the history."""
    newest = Change.objects.aggregate(newest=Max("at"))["newest"]
    if newest is None:
        return ok("nothing in the history to compare with")
    ahead = newest - timezone.now()
    if ahead > TOLERATED_DRIFT:
        found = f"the newest change in the history is {ahead.total_seconds():.0f} s in the future"
        return fail(found, "set the clock of this machine, and keep it set by a time service")
    return ok("after the newest change in the history")


def _sqlite() -> Verdict:
    with connection.cursor() as cursor:
        mode = cursor.execute("PRAGMA journal_mode").fetchone()[0]
        version = cursor.execute("SELECT sqlite_version()").fetchone()[0]
    if mode != "wal":
        hint = "put the data folder on a local disk: a write-ahead log needs shared memory"
        return warn(f"SQLite {version} keeps a {mode} journal: readers wait for writers", hint)
    return ok(f"SQLite {version} with a write-ahead log")


def _postgresql() -> Verdict:
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_setting('server_version_num')::int / 10000, current_setting('server_version')")
        major, version = cursor.fetchone()
    oldest, name = OLDEST_POSTGRESQL
    if major < oldest:
        return fail(f"PostgreSQL {version}", f"move to PostgreSQL {name} or later")
    return ok(f"PostgreSQL {version}")


def _triggers_of(guard: Guard) -> set[str]:
    endings = ("",) if connection.vendor == "postgresql" else ("_insert", "_update")
    return {f"guard_{guard.name}{ending}"[:LONGEST_IDENTIFIER] for ending in endings}


def _triggers() -> set[str]:
    listing = {
        "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'",
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
    }
    with connection.cursor() as cursor:
        cursor.execute(listing[connection.vendor])
        return {row[0][:LONGEST_IDENTIFIER] for row in cursor.fetchall()}


def _listed(names: Sequence[str], most: int = 3) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more
