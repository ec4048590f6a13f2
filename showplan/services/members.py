"""Members of a project: roles, crews, invitations. A project always keeps an owner."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.utils import timezone

from showplan.records.models import Crew, Invitation, Membership, Project, User
from showplan.services import secrets
from showplan.services.editing import Actor, edit
from showplan.services.errors import FieldFault, InvalidInput, NotAllowed, NotFound, RuleBroken
from showplan.services.rights import Caller, one_of, refuse_unless_owner, role_in

LONGEST_INVITATION_DAYS = 30


def members_of(project: Project) -> QuerySet[Membership]:
    """Members with their users and crews."""
    return project.memberships.select_related("user", "crew")


def update_member(
    caller: Caller, project: Project, member_id: UUID, values: Mapping[str, Any], based_on: int | None
) -> Membership:
    """Change role or crew; for owners. Raises RuleBroken where no owner would be left."""
    refuse_unless_owner(caller, project)
    with edit(project, caller.actor()) as change:
        refuse_unless_owner(caller, project)  # again, inside the lock: they may just have been removed
        member = _member(project, member_id)
        change.update(member, values, based_on=based_on)
        _refuse_without_owner(project)
    return member


def remove_member(caller: Caller, project: Project, member_id: UUID, based_on: int | None) -> None:
    """Take a member out, or leave oneself. They, and their tokens, see nothing of the project from now on."""
    _refuse_removal(caller, project, _member(project, member_id))
    with edit(project, caller.actor()) as change:
        member = _member(project, member_id)
        _refuse_removal(caller, project, member)  # again, inside the lock: they may just have been removed
        change.delete(member, based_on=based_on)
        _refuse_without_owner(project)


def add_member(project: Project, user: User, role: str, actor: Actor, crew: Crew | None = None) -> Membership:
    """Make a user a member without an invitation; for the command line. Raises InvalidInput."""
    with edit(project, actor) as change:
        [member] = change.create([Membership(project=project, user=user, role=role, crew=crew)])
    assert isinstance(member, Membership)
    return member


def invitations_of(project: Project) -> QuerySet[Invitation]:
    """The project's invitations, the used and expired ones too."""
    return Invitation.objects.filter(project=project).select_related("crew", "accepted_by")


def invite(
    caller: Caller, project: Project, *, role: str, days: int = 7, crew: Crew | None = None
) -> tuple[Invitation, str]:
    """A new invitation and its secret, which is told once. For owners. Raises InvalidInput."""
    refuse_unless_owner(caller, project)
    if not 1 <= days <= LONGEST_INVITATION_DAYS:
        raise InvalidInput([FieldFault("days", f"must be from 1 to {LONGEST_INVITATION_DAYS}, not {days}")])
    secret = secrets.new_secret()
    invitation = Invitation(
        project=project,
        role=role,
        crew=crew,
        secret_hash=secrets.hash_of(secret),
        expires_at=timezone.now() + timedelta(days=days),
    )
    with edit(project, caller.actor()) as change:
        change.create([invitation])
    return invitation, secret


def withdraw(caller: Caller, project: Project, invitation_id: UUID, based_on: int | None = None) -> None:
    """Delete an invitation, so that its link opens nothing. For owners."""
    refuse_unless_owner(caller, project)
    with edit(project, caller.actor()) as change:
        change.delete(one_of(invitations_of(project), invitation_id, "invitation"), based_on=based_on)


def invitation_behind(secret: str) -> Invitation:
    """The open invitation with that secret. Raises NotFound: unknown, used, withdrawn or expired."""
    found = (
        Invitation.objects.select_related("project", "crew")
        .filter(secret_hash=secrets.hash_of(secret), accepted_at=None, expires_at__gt=timezone.now())
        .first()
    )
    if found is None:
        raise NotFound("this invitation is unknown, used, withdrawn or expired: ask for a new one")
    return found


def accept(caller: Caller, secret: str) -> Membership:
    """Become a member by an invitation. Raises NotFound, NotAllowed, or RuleBroken where one is a member already."""
    caller.refuse_without("write")
    invitation = invitation_behind(secret)
    project = invitation.project
    if caller.token is not None and caller.token.project_id not in (None, project.pk):
        raise NotAllowed("this token is bound to one project; joining another needs one without a project")
    assert isinstance(caller.user, User)
    with edit(project, caller.actor()) as change:
        fresh = invitation_behind(secret)  # again, inside the lock: two people may hold one link
        if role_in(Caller(caller.user), project) is not None:
            raise RuleBroken(f"you are a member of {project.name!r} already")
        member = Membership(project=project, user=caller.user, role=fresh.role, crew=fresh.crew)
        change.create([member])
        change.update(fresh, {"accepted_at": timezone.now(), "accepted_by": caller.user})
    return member


def _member(project: Project, member_id: UUID) -> Membership:
    return one_of(members_of(project), member_id, "member")


def _refuse_removal(caller: Caller, project: Project, member: Membership) -> None:
    """Owners remove anybody, everybody may leave."""
    if member.user_id == getattr(caller.user, "pk", None):
        caller.refuse_without("write")
    else:
        refuse_unless_owner(caller, project)


def _refuse_without_owner(project: Project) -> None:
    if not project.memberships.filter(role=Membership.Role.OWNER).exists():
        raise RuleBroken(f"{project.name!r} would be left without an owner: make somebody else owner first")
