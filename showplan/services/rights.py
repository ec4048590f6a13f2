"""The one door to other people's work: who calls, and what they may see and change.

Not yours: NotFound, the same as if it were not there. Yours but read-only: NotAllowed, which names what is missing.
A token never opens more than its user's membership does, looked up at each call: who is removed is out at once.
"""

from dataclasses import dataclass
from typing import TypeVar
from uuid import UUID

from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import ValidationError
from django.db.models import Model, QuerySet

from showplan.records.models import Change, Membership, Project, Token, User, Venue
from showplan.services.editing import Actor
from showplan.services.errors import NotAllowed, NotFound

Row = TypeVar("Row", bound=Model)
SCOPES = ("read", "write", "compute")
LONGEST_VIA = int(Change._meta.get_field("via").max_length or 0)
ROLES_THAT_EDIT = (Membership.Role.OWNER, Membership.Role.EDITOR)


@dataclass(frozen=True)
class Caller:
    """Who calls: a person on a page, or a script with a token of theirs."""

    user: User | AnonymousUser
    token: Token | None = None

    def actor(self) -> Actor:
        """The caller as it stands in the history, which cuts off the end of a token's long name."""
        assert isinstance(self.user, User)
        return Actor(self.user, f"token {self.token.name}"[:LONGEST_VIA] if self.token else "page")

    def refuse_without(self, scope: str) -> None:
        """Raises NotAllowed where the call's token lacks a scope; people on pages have all of them."""
        if self.token is not None and scope not in self.token.scopes:
            has = ", ".join(self.token.scopes) or "none"
            raise NotAllowed(f"this needs a token with the scope {scope!r}; token {self.token.name!r} has: {has}")


def projects_of(caller: Caller) -> QuerySet[Project]:
    """The projects that the caller may see."""
    if not isinstance(caller.user, User):
        return Project.objects.none()
    projects = Project.objects.filter(memberships__user=caller.user)
    return projects.filter(pk=caller.token.project_id) if caller.token and caller.token.project_id else projects


def project_for(caller: Caller, project_id: UUID | str) -> Project:
    """A project that the caller may see. Raises NotFound."""
    return one_of(projects_of(caller), project_id, "project")


def venue_for(caller: Caller, venue_id: UUID | str) -> Venue:
    """A venue of a project that the caller may see, with its project. Raises NotFound."""
    venues = Venue.objects.select_related("project").filter(project__in=projects_of(caller))
    return one_of(venues, venue_id, "venue")


def role_in(caller: Caller, project: Project) -> str | None:
    """The caller's role in a project, or None."""
    if not isinstance(caller.user, User):
        return None
    return Membership.objects.filter(user=caller.user, project=project).values_list("role", flat=True).first()


def may_edit(caller: Caller, project: Project) -> bool:
    """Whether the caller's role lets them change the project."""
    return role_in(caller, project) in ROLES_THAT_EDIT


def refuse_unless_editor(caller: Caller, project: Project, scope: str = "write") -> None:
    """Raises NotAllowed where the caller may look but not change, NotFound where they may not even look."""
    _refuse_roles(caller, project, ROLES_THAT_EDIT, scope)


def refuse_unless_owner(caller: Caller, project: Project, scope: str = "write") -> None:
    """Raises NotAllowed unless the caller owns the project: members, invitations, the project itself."""
    _refuse_roles(caller, project, (Membership.Role.OWNER,), scope)


def one_of(rows: QuerySet[Row], key: UUID | str, noun: str) -> Row:
    """The row with that key. Raises NotFound."""
    try:
        found = rows.filter(pk=key).first()
    except ValidationError:  # not a UUID
        found = None
    if found is None:
        raise NotFound(f"there is no {noun} {key}")
    return found


def _refuse_roles(caller: Caller, project: Project, roles: tuple[str, ...], scope: str = "write") -> None:
    caller.refuse_without(scope)
    role = role_in(caller, project)
    if role is None:
        raise NotFound(f"there is no project {project.pk}")
    if role not in roles:
        raise NotAllowed(f"your role in {project.name!r} is {role}; this needs the role {' or '.join(roles)}")
