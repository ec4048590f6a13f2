"""The records application; it keeps the database's own guards in place after every migration."""

from typing import Any

from django.apps import AppConfig
from django.db import connections
from django.db.migrations.executor import MigrationExecutor
from django.db.models.signals import post_migrate, pre_migrate


class RecordsConfig(AppConfig):
    name = "showplan.records"
    label = "records"

    def ready(self) -> None:
        pre_migrate.connect(_remove_guards, sender=self)
        post_migrate.connect(_install_guards, sender=self)


def _remove_guards(using: str, plan: list[Any], **_: Any) -> None:
    # SQLite rebuilds a table to change it, and cannot while triggers of other tables name it.
    from showplan.records.guards import remove

    if plan and connections[using].vendor == "sqlite":
        remove(using)


def _install_guards(using: str, plan: list[Any] | None = None, **_: Any) -> None:
    if plan is None:  # the signal of `flush`, which empties tables and changes none: the guards stand
        return
    # SQLite drops a table's triggers whenever a migration rebuilds the table, so they are laid anew each time.
    from showplan.records.guards import install, remove

    # Guards name the newest tables and columns: a database that was taken to an older state has none.
    if _is_newest(using):
        install(using)
    else:
        remove(using)


def _is_newest(using: str) -> bool:
    executor = MigrationExecutor(connections[using])
    return not executor.migration_plan(executor.loader.graph.leaf_nodes())
