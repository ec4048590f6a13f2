"""`manage.py reference [NAME] [--json]`: the dated reference tables, each row with its source."""

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from showplan.management.refusals import refusals
from showplan.services.knowledge import TABLES, table_named


class Command(BaseCommand):
    """Prints one table, or the names of all; needs no database."""

    help = "List the dated reference tables, or print one with sources and standing."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which table, and the form of the answer."""
        parser.add_argument("name", nargs="?", help="name of the table; without it, the names")
        parser.add_argument("--json", action="store_true", help="print a JSON list instead of text")

    def handle(self, **options: Any) -> None:
        """Print the table; exit code 1 with the known names where there is none of that name."""
        with refusals(self):
            rows = list(TABLES) if options["name"] is None else table_named(options["name"])
            if options["json"]:
                self.stdout.write(json.dumps(rows, indent=1, ensure_ascii=False))
                return
            for row in rows:
                self.stdout.write(row if isinstance(row, str) else _block(row))


def _block(row: dict[str, Any]) -> str:
    """A row as `column: value` lines; empty cells are left out."""
    lines = [f"{column}: {_text(value)}" for column, value in row.items() if value not in (None, "", ())]
    return "\n".join((*lines, "", ""))


def _text(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{name} {_text(part)}" for name, part in value.items() if part not in (None, ""))
    if isinstance(value, list | tuple):
        return "; ".join(_text(part) for part in value)
    return f"{value:g}" if isinstance(value, float) else str(value)
