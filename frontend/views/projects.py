"""The projects of a user, and one project with its venues against the seven questions."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from frontend.present.projects import project_list, project_page
from frontend.views.page import page
from showplan.services.access import project_for, projects_of


@page
def projects(request: HttpRequest) -> HttpResponse:
    """The projects the user is a member of."""
    return render(
        request, "frontend/projects.html", {"projects": project_list(request.user, projects_of(request.user))}
    )


@page
def project(request: HttpRequest, project_id: UUID) -> HttpResponse:
    """One project: venues in tour order, crews, kit."""
    return render(request, "frontend/project.html", project_page(project_for(request.user, project_id)))
