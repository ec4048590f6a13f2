"""`manage.py import FILE`: makes a project, or with `--project` a venue, from a JSON file."""

# ruff: noqa: N999  (the command's name is a keyword of the language; nobody imports this module by name)

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from showplan.management.callers import THE_COMMAND_LINE, CommandCaller
from showplan.management.refusals import refusals
from showplan.services.exchange import add_venue, import_project, parse
from showplan.services.finding_venues import project_named
from showplan.services.users import user_named


class Command(BaseCommand):
    """Reads a file that `export` wrote."""

    help = "Make a new project from a project file, or a new venue in a project from a venue file; all or nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The file, and whose or where it shall be."""
        parser.add_argument("file", help="path of the JSON file, or - for standard input")
        target = parser.add_mutually_exclusive_group(required=True)
        target.add_argument("--owner", help="for a project file: user name of the new project's owner")
        target.add_argument("--project", help="for a venue file: name or identifier of the project it goes into")
        parser.add_argument("--name", help="the name it shall have instead of the one in the file")

    def handle(self, *, file: str, owner: str | None, project: str | None, name: str | None, **options: Any) -> None:
        """Print the new identifier; exit code 2 with one line for each fault where the file cannot be imported."""
        with refusals(self, file):
            document = parse(sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes())
            if owner is not None:
                made = import_project(CommandCaller(user_named(owner)), document, name=name).pk
            else:
                made = add_venue(project_named(str(project)), THE_COMMAND_LINE, document, name=name).pk
        self.stdout.write(str(made))
