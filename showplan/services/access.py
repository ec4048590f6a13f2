"""The one door to other people's work: what a user may see and change.

Not yours: NotFound, the same as if it were not there. Yours but read-only: NotAllowed, which names what is missing.
"""

from typing import TypeVar
from uuid import UUID

from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import ValidationError
from django.db.models import Model, QuerySet

from showplan.records.models import Membership, Project, User, Venue
from showplan.services.errors import NotAllowed, NotFound

AnyUser = User | AnonymousUser
Row = TypeVar("Row", bound=Model)
ROLES_THAT_EDIT = (Membership.Role.OWNER, Membership.Role.EDITOR)


def projects_of(user: AnyUser) -> QuerySet[Project]:
    """The projects a user is a member of."""
    if not user.is_authenticated:
        return Project.objects.none()
    return Project.objects.filter(memberships__user=user)


def project_for(user: AnyUser, project_id: UUID | str) -> Project:
    """A project the user may see. Raises NotFound."""
    return _one(projects_of(user), project_id, "project")


def venue_for(user: AnyUser, venue_id: UUID | str) -> Venue:
    """A venue of a project the user may see, with its project. Raises NotFound."""
    venues = Venue.objects.select_related("project").filter(project__in=projects_of(user))
    return _one(venues, venue_id, "venue")


def role_in(user: AnyUser, project: Project) -> str | None:
    """The user's role in a project, or None."""
    if not user.is_authenticated:
        return None
    return Membership.objects.filter(user=user, project=project).values_list("role", flat=True).first()


def refuse_unless_editor(user: AnyUser, project: Project) -> None:
    """Raises NotAllowed where the user may look but not change, NotFound where they may not even look."""
    role = role_in(user, project)
    if role is None:
        raise NotFound(f"there is no project {project.pk}")
    if role not in ROLES_THAT_EDIT:
        raise NotAllowed(f"your role in {project.name!r} is {role}; changing it needs the role editor or owner")


def _one(rows: QuerySet[Row], key: UUID | str, noun: str) -> Row:
    try:
        found = rows.filter(pk=key).first()
    except ValidationError:  # not a UUID
        found = None
    if found is None:
        raise NotFound(f"there is no {noun} {key}")
    return found
