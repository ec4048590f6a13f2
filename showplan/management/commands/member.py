"""`manage.py member PROJECT USER ROLE`: makes a user a member of a project."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.db import transaction

from showplan.management.callers import THE_COMMAND_LINE
from showplan.management.refusals import refusals
from showplan.records.models import Crew, Membership, Project, User
from showplan.services.errors import NotFound
from showplan.services.finding_venues import project_named
from showplan.services.members import add_member
from showplan.services.users import make_user, user_named


class Command(BaseCommand):
    """Adds a member without an invitation."""

    help = "Make a user a member of a project, without an invitation."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Who, where and as what."""
        parser.add_argument("project", help="name or identifier of the project")
        parser.add_argument("user", help="user name")
        parser.add_argument("role", choices=[role for role, _ in Membership.Role.choices])
        parser.add_argument("--crew", help="name of the crew they belong to")
        parser.add_argument("--create-user", action="store_true", help="make the user where there is none")

    def handle(self, *, project: str, user: str, role: str, crew: str | None, **options: Any) -> None:
        """Say what was done; a password that is printed is told this once."""
        with refusals(self), transaction.atomic():
            found = project_named(project)
            member, password = _user(user, may_make=options["create_user"])
            add_member(found, member, role, THE_COMMAND_LINE, _crew(found, crew) if crew else None)
        if password:
            self.stdout.write(f"The user {user!r} was made; the password, told this once: {password}")
        self.stdout.write(f"{user!r} is {role} of {found.name!r} now.")


def _user(username: str, *, may_make: bool) -> tuple[User, str | None]:
    if may_make and not User.objects.filter(username=username).exists():
        return make_user(username)
    return user_named(username), None


def _crew(project: Project, name: str) -> Crew:
    found = project.crews.filter(name=name).first()
    if found is None:
        known = ", ".join(repr(crew.name) for crew in project.crews.all()[:20])
        raise NotFound(f"there is no crew {name!r} in {project.name!r}; known: {known or 'none at all'}")
    return found
