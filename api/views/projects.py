"""Projects: the caller's own."""

from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.fields import StrictCharField
from api.filters import refuse_unknown_parameters
from api.paging import page_of
from api.problems import Problem
from api.repeats import once
from api.representation import as_values, rows
from api.serializers import StrictSerializer
from api.versions import etag_of, not_modified, version_seen
from api.views.base import Endpoint, record_response
from showplan.records.models import Project
from showplan.services.errors import NotAllowed, StaleWrite
from showplan.services.projects import delete_project, start_project, update_project
from showplan.services.rights import project_for, projects_of, refuse_unless_owner

NAMES = ("id", "version", "name", "note", "created_at", "changed_at")


class ProjectSerializer(StrictSerializer):
    """One show or tour."""

    id = serializers.UUIDField(read_only=True)
    version = serializers.IntegerField(read_only=True, help_text="grows with each change; the ETag is this number")
    name = StrictCharField(max_length=80)
    note = StrictCharField(max_length=10_000, allow_blank=True, required=False)
    created_at = serializers.DateTimeField(read_only=True)
    changed_at = serializers.DateTimeField(read_only=True)


class Projects(Endpoint):
    """The projects of the caller."""

    own_parameters = True
    schema_tag = "projects"

    def get(self, request: Request) -> Response:
        """A page of projects."""
        refuse_unknown_parameters(request, ("limit", "after"))
        return Response(page_of(request, projects_of(self.caller), NAMES, "name"))

    def post(self, request: Request) -> Response:
        """A new project; the caller owns it. A token that is bound to one project cannot start another."""
        if self.caller.token is not None and self.caller.token.project_id is not None:
            raise NotAllowed("this token is bound to one project; starting another needs one without a project")
        return once(request, lambda: self._create(request))

    def _create(self, request: Request) -> Response:
        given = ProjectSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        project = start_project(self.caller, **given.validated_data)
        address = request.build_absolute_uri(f"{request.path}{project.pk}/")
        return record_response(as_values(project, NAMES), 201, address)


class OneProject(Endpoint):
    """One project."""

    schema_tag = "projects"

    def get(self, request: Request, project_id: UUID) -> Response:
        """The project, or 304 where If-None-Match has its version."""
        project = project_for(self.caller, project_id)
        if not_modified(request, etag_of(project.version)):
            return Response(status=304, headers={"ETag": etag_of(project.version)})
        return record_response(as_values(project, NAMES))

    def patch(self, request: Request, project_id: UUID) -> Response:
        """Change name or note. Needs If-Match and the role owner."""
        project = project_for(self.caller, project_id)
        refuse_unless_owner(self.caller, project)
        seen = version_seen(request)
        given = ProjectSerializer(data=request.data, partial=True)
        given.is_valid(raise_exception=True)
        try:
            return record_response(as_values(update_project(self.caller, project, given.validated_data, seen), NAMES))
        except StaleWrite as error:
            raise _stale(project, error) from error

    def delete(self, request: Request, project_id: UUID) -> Response:
        """Delete the project and all that is in it, its history too. Needs If-Match and the role owner."""
        project = project_for(self.caller, project_id)
        refuse_unless_owner(self.caller, project)
        try:
            delete_project(self.caller, project, version_seen(request))
        except StaleWrite as error:
            raise _stale(project, error) from error
        return Response(status=204)


def _stale(project: Project, error: StaleWrite) -> Problem:
    current: Any = rows(Project.objects.filter(pk=project.pk), NAMES)
    return Problem(412, "stale-write", str(error), current=current[0] if current else None)
