"""`manage.py import FILE`: a project, or with `--project` a venue, from a JSON file; with `--table` a CSV table."""

# ruff: noqa: N999  (the command's name is a keyword of the language; nobody imports this module by name)

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from showplan.management.callers import THE_COMMAND_LINE, CommandCaller
from showplan.management.refusals import refusals
from showplan.services.exchange import (
    READINGS,
    TABLE_NOUNS,
    TableReport,
    add_readings,
    add_table,
    add_venue,
    import_project,
    parse,
)
from showplan.services.finding_venues import project_named, venue_in
from showplan.services.nouns import by_path
from showplan.services.users import user_named


class Command(BaseCommand):
    """Reads a file that `export` wrote, or a table."""

    help = (
        "Make a new project from a project file, or a new venue in a project from a venue file; or read a CSV table"
        " of nodes, loads, timelines or readings; all or nothing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The file, and whose or where it shall be."""
        parser.add_argument("file", help="path of the file, or - for standard input")
        target = parser.add_mutually_exclusive_group(required=True)
        target.add_argument("--owner", help="for a project file: user name of the new project's owner")
        target.add_argument("--project", help="for a venue file or a table: name or identifier of its project")
        parser.add_argument("--name", help="the name it shall have instead of the one in the file")
        tables = [noun.path for noun in (*TABLE_NOUNS, READINGS)]
        parser.add_argument("--table", choices=tables, help="read a CSV table of these into the project")
        parser.add_argument("--venue", help="for a table of readings: name of their venue")
        parser.add_argument("--dry-run", action="store_true", help="for a table: only say what would change")

    def handle(self, *, file: str, table: str | None, **options: Any) -> None:
        """Print the new identifier, or what became of the lines of a table.

        Exit code 2 with one line for each fault where the file cannot be imported.
        """
        _refuse_strays(table, options)
        with refusals(self, file):
            content = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
            if table is not None:
                self.stdout.write(_in_words(_read_table(content, table, options), options["dry_run"]))
            else:
                self.stdout.write(str(_read_document(content, options)))


def _read_document(content: bytes, options: dict[str, Any]) -> Any:
    document, name = parse(content), options["name"]
    if options["owner"] is not None:
        return import_project(CommandCaller(user_named(options["owner"])), document, name=name).pk
    return add_venue(project_named(options["project"]), THE_COMMAND_LINE, document, name=name).pk


def _read_table(content: bytes, table: str, options: dict[str, Any]) -> TableReport:
    project, dry_run = project_named(options["project"]), options["dry_run"]
    if table == READINGS.path:
        venue = venue_in(project, options["venue"])
        return add_readings(venue, THE_COMMAND_LINE, content, dry_run=dry_run)
    return add_table(by_path()[table], project, THE_COMMAND_LINE, content, dry_run=dry_run)


def _refuse_strays(table: str | None, options: dict[str, Any]) -> None:
    """Arguments that do not go together; the parser cannot say so itself."""
    if table is None:
        if options["venue"] or options["dry_run"]:
            raise CommandError("--venue and --dry-run go with --table")
        return
    if options["owner"] or options["name"]:
        raise CommandError("a table goes into a project that is there: give --project, without --owner and --name")
    if (table == READINGS.path) != bool(options["venue"]):
        raise CommandError("a table of readings needs --venue; no other table takes it")


def _in_words(report: TableReport, dry_run: bool) -> str:
    counts = f"{report.count('create')} new, {report.count('update')} changed, {report.unchanged} the same"
    return f"nothing is written; it would be: {counts}" if dry_run else counts
