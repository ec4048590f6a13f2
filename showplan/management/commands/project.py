"""`manage.py project NAME --owner USER`: starts a project."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from showplan.management.callers import CommandCaller
from showplan.management.refusals import refusals
from showplan.services.projects import start_project
from showplan.services.users import user_named


class Command(BaseCommand):
    """Makes an empty project."""

    help = "Start a project for a user who then owns it, and print its identifier."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The project's own fields, and its owner."""
        parser.add_argument("name", help="name of the project")
        parser.add_argument("--owner", required=True, help="user name of its owner")
        parser.add_argument("--note", default="", help="a note on it")

    def handle(self, *, name: str, owner: str, note: str, **options: Any) -> None:
        """Print the identifier."""
        with refusals(self):
            project = start_project(CommandCaller(user_named(owner)), name=name, note=note)
        self.stdout.write(str(project.pk))
