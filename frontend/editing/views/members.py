"""Members of a project: list, role and crew, removal, leaving."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from frontend.editing.conflicts import conflict_page
from frontend.editing.page import caller_of, form_page, show_faults, version_seen
from frontend.editing.people_forms import MemberForm
from frontend.editing.places import sections
from frontend.editing.wording import sentence
from frontend.views.page import page
from showplan.services.errors import InvalidInput, RuleBroken, StaleWrite
from showplan.services.members import members_of, remove_member, update_member
from showplan.services.rights import one_of, project_for, refuse_unless_owner, role_in


@page
def listing(request: HttpRequest, project_id: UUID) -> HttpResponse:
    """Who works on the project."""
    caller = caller_of(request)
    project = project_for(caller, project_id)
    context = {
        **sections(project),
        "here": "members",
        "members": members_of(project).order_by("user__username"),
        "is_owner": role_in(caller, project) == "owner",
    }
    return render(request, "frontend/editing/members.html", context)


@form_page
def change(request: HttpRequest, project_id: UUID, member_id: UUID) -> HttpResponse:
    """Role and crew of a member; for owners."""
    caller = caller_of(request)
    project = project_for(caller, project_id)
    refuse_unless_owner(caller, project)
    member = one_of(members_of(project), member_id, "member")
    form = MemberForm(project, member, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            update_member(caller, project, member_id, form.changed_values(), form.based_on or 0)
        except InvalidInput as error:
            show_faults(form, error)
        except RuleBroken as error:
            form.add_error(None, sentence(error))
        except StaleWrite:
            fresh = one_of(members_of(project), member_id, "member")
            again = MemberForm(project, fresh, request.POST)
            again.is_valid()
            addresses = {"edit_address": request.path, "back_address": reverse("members", args=(project_id,))}
            return conflict_page(request, project, fresh, again, {**sections(project), **addresses})
        else:
            messages.success(request, sentence(f"{member} is saved"))
            return redirect("members", project.pk)
    context = {**sections(project), "here": "members", "form": form, "member": member}
    return render(request, "frontend/editing/member-change.html", context)


@form_page
def remove(request: HttpRequest, project_id: UUID, member_id: UUID) -> HttpResponse:
    """Take a member out, or leave the project oneself."""
    caller = caller_of(request)
    project = project_for(caller, project_id)
    member = one_of(members_of(project), member_id, "member")
    is_oneself = member.user_id == request.user.pk
    if not is_oneself:
        refuse_unless_owner(caller, project)
    fault = ""
    if request.method == "POST":
        try:
            remove_member(caller, project, member_id, version_seen(request))
        except (RuleBroken, StaleWrite) as error:
            fault = sentence(error)
            member = one_of(members_of(project), member_id, "member")
        else:
            words = f"you left {project.name}" if is_oneself else f"{member} is no member any more"
            messages.success(request, sentence(words))
            return redirect("projects") if is_oneself else redirect("members", project.pk)
    context = {**sections(project), "here": "members", "member": member, "is_oneself": is_oneself, "fault": fault}
    return render(request, "frontend/editing/member-remove.html", context)
