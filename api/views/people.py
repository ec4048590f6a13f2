"""Members and invitations of a project."""

from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import SimpleRateThrottle

from api.fields import KeyField, ReferenceField, StrictCharField, StrictIntegerField
from api.filters import refuse_unknown_parameters
from api.paging import page_of
from api.problems import Problem
from api.references import References
from api.repeats import once
from api.serializers import StrictSerializer
from api.versions import version_seen
from api.views.base import Endpoint, record_response
from showplan.records.models import Invitation, Membership, Project
from showplan.services.errors import StaleWrite
from showplan.services.members import (
    accept,
    invitations_of,
    invite,
    members_of,
    remove_member,
    update_member,
    withdraw,
)
from showplan.services.nouns import by_path
from showplan.services.rights import one_of, refuse_unless_owner

CREW = {"crew": by_path()["crews"]}
ROLES = [role for role, _ in Membership.Role.choices]
MEMBER_NAMES = ("id", "version", "user", "role", "crew", "created_at", "changed_at")
INVITATION_NAMES = ("id", "version", "role", "crew", "expires_at", "accepted_at", "accepted_by", "created_at")


class MemberSerializer(StrictSerializer):
    """A user's role and crew in a project."""

    id = serializers.UUIDField(read_only=True)
    version = serializers.IntegerField(read_only=True)
    user = serializers.UUIDField(read_only=True)
    username = serializers.CharField(read_only=True)
    role = KeyField(choices=ROLES)
    crew = ReferenceField(to="crew", allow_null=True, required=False)
    created_at = serializers.DateTimeField(read_only=True)
    changed_at = serializers.DateTimeField(read_only=True)


class InvitationSerializer(StrictSerializer):
    """A link that makes whoever opens it a member, once."""

    id = serializers.UUIDField(read_only=True)
    version = serializers.IntegerField(read_only=True)
    role = KeyField(choices=ROLES)
    crew = ReferenceField(to="crew", allow_null=True, required=False)
    days = StrictIntegerField(write_only=True, required=False, default=7, min_value=1, max_value=30)
    expires_at = serializers.DateTimeField(read_only=True)
    accepted_at = serializers.DateTimeField(read_only=True, allow_null=True)
    accepted_by = serializers.UUIDField(read_only=True, allow_null=True)
    created_at = serializers.DateTimeField(read_only=True)


class NewInvitationSerializer(InvitationSerializer):
    """An invitation as it is answered once, when it is made."""

    secret = serializers.CharField(read_only=True, help_text="told this once; it is not kept")


class AcceptSerializer(StrictSerializer):
    """The secret of an invitation."""

    secret = StrictCharField(max_length=200)


class Members(Endpoint):
    """Who works on a project."""

    schema_tag = "members"
    own_parameters = True

    def get(self, request: Request, project_id: UUID) -> Response:
        """A page of members."""
        refuse_unknown_parameters(request, ("limit", "after"))
        names = (*MEMBER_NAMES, "user__username")
        page = page_of(request, members_of(self.project()), names, "created_at")
        for item in page["items"]:
            item["username"] = item.pop("user__username")
        return Response(page)


class OneMember(Endpoint):
    """One member."""

    schema_tag = "members"

    def get(self, request: Request, project_id: UUID, record_id: UUID) -> Response:
        """The member."""
        return record_response(member_values(one_of(members_of(self.project()), record_id, "member")))

    def patch(self, request: Request, project_id: UUID, record_id: UUID) -> Response:
        """Change role or crew. Needs If-Match and the role owner; an owner must be left."""
        project = self.project()
        refuse_unless_owner(self.caller, project)
        seen = version_seen(request)
        values = _read(MemberSerializer, request.data, project, partial=True)
        try:
            return record_response(member_values(update_member(self.caller, project, record_id, values, seen)))
        except StaleWrite as error:
            raise self._stale(project, record_id, error) from error

    def delete(self, request: Request, project_id: UUID, record_id: UUID) -> Response:
        """Take a member out, or leave. Needs If-Match; an owner must be left."""
        project = self.project()
        try:
            remove_member(self.caller, project, record_id, version_seen(request))
        except StaleWrite as error:
            raise self._stale(project, record_id, error) from error
        return Response(status=204)

    def _stale(self, project: Project, record_id: UUID, error: StaleWrite) -> Problem:
        current = member_values(one_of(members_of(project), record_id, "member"))
        return Problem(412, "stale-write", str(error), current=current)


class Invitations(Endpoint):
    """Invitations of a project, for its owners."""

    schema_tag = "invitations"
    own_parameters = True

    def get(self, request: Request, project_id: UUID) -> Response:
        """A page of invitations; their secrets are not kept. Needs the role owner."""
        refuse_unknown_parameters(request, ("limit", "after"))
        project = self.project()
        refuse_unless_owner(self.caller, project, "read")
        return Response(page_of(request, invitations_of(project), INVITATION_NAMES, "created_at"))

    def post(self, request: Request, project_id: UUID) -> Response:
        """A new invitation; the answer tells its secret, once. Needs the role owner."""
        project = self.project()
        refuse_unless_owner(self.caller, project)
        return once(request, lambda: self._invite(request, project), secret=("secret",))

    def _invite(self, request: Request, project: Project) -> Response:
        values = _read(InvitationSerializer, request.data, project)
        invitation, secret = invite(self.caller, project, **values)
        address = request.build_absolute_uri(f"{request.path}{invitation.pk}/")
        return record_response({**invitation_values(invitation), "secret": secret}, 201, address)


class OneInvitation(Endpoint):
    """One invitation, for owners."""

    schema_tag = "invitations"

    def get(self, request: Request, project_id: UUID, record_id: UUID) -> Response:
        """The invitation. Needs the role owner."""
        project = self.project()
        refuse_unless_owner(self.caller, project, "read")
        return record_response(invitation_values(one_of(invitations_of(project), record_id, "invitation")))

    def delete(self, request: Request, project_id: UUID, record_id: UUID) -> Response:
        """Withdraw it: its link opens nothing any more. Needs If-Match and the role owner."""
        project = self.project()
        refuse_unless_owner(self.caller, project)
        try:
            withdraw(self.caller, project, record_id, version_seen(request))
        except StaleWrite as error:
            current = invitation_values(one_of(invitations_of(project), record_id, "invitation"))
            raise Problem(412, "stale-write", str(error), current=current) from error
        return Response(status=204)


class GuessThrottle(SimpleRateThrottle):
    """Slows down guessing at secrets: so many tries for each caller."""

    rate = "30/min"
    scope = "guess"

    def get_cache_key(self, request: Request, view: Any) -> str:
        """One count for each user, or address where nobody is signed in."""
        who = request.user.pk if request.user.is_authenticated else self.get_ident(request)
        return f"throttle-guess-{who}"


class AcceptInvitation(Endpoint):
    """Becoming a member."""

    schema_tag = "invitations"
    throttle_classes = (GuessThrottle,)

    def post(self, request: Request) -> Response:
        """Accept an invitation by its secret; answers with the membership."""
        given = AcceptSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        return record_response(member_values(accept(self.caller, given.validated_data["secret"])), 201)


def member_values(member: Membership) -> dict[str, Any]:
    """A member as JSON values."""
    return {
        "id": member.pk,
        "version": member.version,
        "user": member.user_id,
        "username": member.user.get_username(),
        "role": member.role,
        "crew": member.crew_id,
        "created_at": member.created_at,
        "changed_at": member.changed_at,
    }


def invitation_values(invitation: Invitation) -> dict[str, Any]:
    """An invitation as JSON values, without its secret."""
    columns = {"crew": "crew_id", "accepted_by": "accepted_by_id"}
    return {name: getattr(invitation, columns.get(name, name)) for name in INVITATION_NAMES}


def _read(
    serializer_class: type[StrictSerializer], data: Any, project: Project, *, partial: bool = False
) -> dict[str, Any]:
    references = References(CREW, project, [data])
    given = serializer_class(data=data, partial=partial, context={"references": references})
    given.is_valid(raise_exception=True)
    return dict(given.validated_data)
