"""`manage.py export PROJECT`: a project, or with `--venue` one venue of it, as JSON; with `--table` a CSV table."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from showplan.management.refusals import refusals
from showplan.services.exchange import (
    READINGS,
    TABLE_NOUNS,
    as_text,
    project_document,
    sha256_of,
    table_of,
    venue_document,
)
from showplan.services.finding_venues import project_named, venue_in
from showplan.services.nouns import by_path


class Command(BaseCommand):
    """Writes a file that `import` reads."""

    help = "Write a project, or one venue of it, as JSON: no members, tokens, history or plan pictures."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What to write, and where."""
        parser.add_argument("project", help="name or identifier of the project")
        parser.add_argument("--venue", help="name of the one venue to write")
        tables = [noun.path for noun in (*TABLE_NOUNS, READINGS)]
        parser.add_argument("--table", choices=tables, help="write a CSV table of these; readings need --venue")
        parser.add_argument("--output", "-o", help="file to write; without it, standard output")

    def handle(self, *, project: str, venue: str | None, table: str | None, output: str | None, **options: Any) -> None:
        """Write the file, and for JSON the SHA-256 of its content (RFC 8785) to standard error."""
        if table is not None and (table == READINGS.path) != bool(venue):
            raise CommandError("a table of readings needs --venue; no other table takes it")
        with refusals(self):
            found = project_named(project)
            checksum = ""
            if table is not None:
                text = table_of(by_path()[table], venue_in(found, venue) if venue else found)
            else:
                document = venue_document(venue_in(found, venue)) if venue else project_document(found)
                text, checksum = as_text(document), sha256_of(document)
            if output:
                # A table's line ends are its own (RFC 4180).
                Path(output).write_text(text, encoding="utf-8", newline="")
        if not output:
            self.stdout.write(text, ending="")
        if checksum:
            self.stderr.write(f"sha256 {checksum}")
