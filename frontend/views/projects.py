"""The projects of a user, and one project with its venues against the seven questions."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from frontend.editing.places import sections
from frontend.present.projects import project_list, project_page
from frontend.views.page import page
from showplan.services.rights import ROLES_THAT_EDIT, Caller, project_for, projects_of, role_in


@page
def projects(request: HttpRequest) -> HttpResponse:
    """The projects the user is a member of."""
    found = projects_of(Caller(user=request.user))
    return render(request, "frontend/projects.html", {"projects": project_list(request.user, found)})


@page
def project(request: HttpRequest, project_id: UUID) -> HttpResponse:
    """One project: venues in tour order, crews, kit."""
    caller = Caller(user=request.user)
    found = project_for(caller, project_id)
    role = role_in(caller, found)
    rights = {"may_edit": role in ROLES_THAT_EDIT, "is_owner": role == "owner"}
    return render(request, "frontend/project.html", {**sections(found), **project_page(found), **rights})
