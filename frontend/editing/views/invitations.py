"""Invitations: a link for one person, shown once."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from frontend.editing.page import caller_of, form_page, show_faults, shown_once, version_seen
from frontend.editing.people_forms import InvitationForm
from frontend.editing.places import sections
from frontend.editing.wording import moment, sentence
from showplan.records.models import Invitation
from showplan.services.errors import InvalidInput, StaleWrite
from showplan.services.members import invitations_of, invite, withdraw
from showplan.services.rights import one_of, project_for, refuse_unless_owner

MOST_SHOWN = 100


@form_page
def listing(request: HttpRequest, project_id: UUID) -> HttpResponse:
    """The invitations of a project, and a form for a new one; for owners."""
    caller = caller_of(request)
    project = project_for(caller, project_id)
    refuse_unless_owner(caller, project)
    form = InvitationForm(project, request.POST or None)
    context = {**sections(project), "here": "invitations", "form": form}
    if request.method == "POST" and form.is_valid():
        try:
            made, secret = invite(caller, project, **form.values())
        except InvalidInput as error:
            show_faults(form, error)
        else:
            link = request.build_absolute_uri(reverse("join", args=(secret,)))
            shown = {**context, "link": link, "invitation": made, "until": moment(made.expires_at)}
            return shown_once(render(request, "frontend/editing/invitation-made.html", shown))
    found = list(invitations_of(project)[:MOST_SHOWN])
    context["invitations"] = [{"invitation": one, "state": _state(one), "is_open": _is_open(one)} for one in found]
    return render(request, "frontend/editing/invitations.html", context)


@form_page
def take_back(request: HttpRequest, project_id: UUID, invitation_id: UUID) -> HttpResponse:
    """Withdraw an invitation, so that its link opens nothing."""
    caller = caller_of(request)
    project = project_for(caller, project_id)
    refuse_unless_owner(caller, project)
    invitation = one_of(invitations_of(project), invitation_id, "invitation")
    fault = ""
    if request.method == "POST":
        try:
            withdraw(caller, project, invitation_id, version_seen(request))
        except StaleWrite as error:
            fault = sentence(error)
            invitation = one_of(invitations_of(project), invitation_id, "invitation")
        else:
            messages.success(request, "The invitation is withdrawn; its link opens nothing any more.")
            return redirect("invitations", project.pk)
    context = {
        **sections(project),
        "here": "invitations",
        "invitation": invitation,
        "state": _state(invitation),
        "fault": fault,
    }
    return render(request, "frontend/editing/invitation-withdraw.html", context)


def _is_open(invitation: Invitation) -> bool:
    return invitation.accepted_at is None and invitation.expires_at > timezone.now()


def _state(invitation: Invitation) -> str:
    if invitation.accepted_at is not None:
        who = invitation.accepted_by.get_username() if invitation.accepted_by else "somebody whose account is gone"
        return f"accepted by {who}, {moment(invitation.accepted_at)}"
    return f"{'open until' if _is_open(invitation) else 'expired'} {moment(invitation.expires_at)}"
