"""`manage.py demo`: makes the demo tour, once, and says how to sign in."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from showplan.records.models import Project
from showplan.services.demo import DemoResult, load_demo
from showplan.services.errors import ServiceError


class Command(BaseCommand):
    """Loads the demo tour; running it again changes nothing."""

    help = "Make the demo tour if it is not there, and print its owner's name and, the first time, the password."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the option."""
        parser.add_argument("--if-empty", action="store_true", help="only where the database holds no project yet")

    def handle(self, **options: Any) -> None:
        """Print what was made; exit code 1 with the reason where it could not be."""
        if options["if_empty"] and Project.objects.exists():
            self.stdout.write("There are projects already: the demo tour was not added.")
            return
        try:
            result = load_demo()
        except ServiceError as error:
            raise CommandError(f"the demo tour could not be made, nothing was written: {error}") from error
        self.stdout.write(_made(result) if result.created else _there(result))


def _made(result: DemoResult) -> str:
    project = result.project
    lines = [
        f"The demo tour {project.name!r} was made: {project.venues.count()} venues, {project.nodes.count()} nodes,"
        f" {project.loads.count()} loads, {project.supplies.count()} supplies, {project.crews.count()} crews.",
        f"User: {result.username}",
    ]
    if result.password is None:
        lines.append("The account was there before; its password is unchanged.")
    else:
        lines += [f"Password: {result.password}", "Write it down: it is shown this once."]
    return "\n".join(lines)


def _there(result: DemoResult) -> str:
    project, user = result.project, result.username
    return (
        f"The demo tour {project.name!r} is already there, revision {project.revision}; nothing was changed.\n"
        f"User: {user}. If the password is lost, 'manage.py changepassword {user}' sets a new one."
    )
