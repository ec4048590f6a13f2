"""Starting, renaming and deleting a project."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from frontend.editing.conflicts import conflict_page
from frontend.editing.page import caller_of, form_page, show_faults
from frontend.editing.people_forms import ProjectForm, SameNameForm
from frontend.editing.places import sections
from frontend.editing.wording import sentence
from showplan.records.models import Project
from showplan.services.errors import InvalidInput, StaleWrite
from showplan.services.projects import delete_project, start_project, update_project
from showplan.services.rights import project_for, refuse_unless_owner


@form_page
def new(request: HttpRequest) -> HttpResponse:
    """A new project, owned by whoever starts it."""
    form = ProjectForm(request.POST or None, label_suffix="")
    if request.method == "POST" and form.is_valid():
        try:
            made = start_project(caller_of(request), **form.values())
        except InvalidInput as error:
            show_faults(form, error)
        else:
            messages.success(request, sentence(f"project {made.name} is started"))
            return redirect("project", made.pk)
    return render(request, "frontend/editing/project-new.html", {"form": form})


@form_page
def change(request: HttpRequest, project_id: UUID) -> HttpResponse:
    """Name and note."""
    caller = caller_of(request)
    project = project_for(caller, project_id)
    refuse_unless_owner(caller, project)
    form = _form(project, request)
    if request.method == "POST" and form.is_valid():
        try:
            update_project(caller, project, form.changed_values(), form.based_on or 0)
        except InvalidInput as error:
            show_faults(form, error)
        except StaleWrite:
            fresh = project_for(caller, project_id)
            again = _form(fresh, request)
            again.is_valid()
            addresses = {
                "edit_address": reverse("project-change", args=(project_id,)),
                "back_address": reverse("project", args=(project_id,)),
            }
            return conflict_page(request, fresh, fresh, again, {**sections(fresh), **addresses})
        else:
            messages.success(request, "The project is saved.")
            return redirect("project", project.pk)
    return render(request, "frontend/editing/project-change.html", {**sections(project), "form": form})


@form_page
def delete(request: HttpRequest, project_id: UUID) -> HttpResponse:
    """Delete a project whose name was typed once more."""
    caller = caller_of(request)
    project = project_for(caller, project_id)
    refuse_unless_owner(caller, project)
    form = SameNameForm(project, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            delete_project(caller, project, form.based_on or 0)
        except StaleWrite as error:
            form.add_error(None, sentence(error))
            form.data = {**request.POST.dict(), "version": str(project_for(caller, project_id).version)}
        else:
            messages.success(request, sentence(f"project {project.name} is deleted"))
            return redirect("projects")
    return render(request, "frontend/editing/project-delete.html", {**sections(project), "form": form})


def _form(project: Project, request: HttpRequest) -> ProjectForm:
    start = {"name": project.name, "note": project.note, "version": project.version}
    return ProjectForm(request.POST or None, initial=start, label_suffix="")
