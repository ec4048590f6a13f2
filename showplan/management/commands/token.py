"""`manage.py token USER --name NAME --scope SCOPE`: makes a token for a script."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from showplan.management.refusals import refusals
from showplan.services.finding_venues import project_named
from showplan.services.rights import SCOPES
from showplan.services.tokens import make_token
from showplan.services.users import user_named


class Command(BaseCommand):
    """Makes a token and tells it once."""

    help = "Make a token for a script that acts for a user, and print it, once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Whose token, what it may do and for how long."""
        parser.add_argument("user", help="user name")
        parser.add_argument("--name", required=True, help="what the script is, as the history will name it")
        parser.add_argument(
            "--scope", action="append", required=True, choices=SCOPES, dest="scopes", help="may be given several times"
        )
        parser.add_argument("--project", help="name or identifier of the one project it may reach; without it all")
        parser.add_argument("--days", type=int, default=90, help="how long it is valid (default 90)")

    def handle(
        self, *, user: str, name: str, scopes: list[str], days: int, project: str | None, **options: Any
    ) -> None:
        """Print the token and nothing else, so that a script can keep it."""
        with refusals(self):
            found = project_named(project) if project else None
            _, text = make_token(user=user_named(user), name=name, scopes=scopes, days=days, project=found)
        self.stdout.write(text)
