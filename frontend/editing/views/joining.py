"""What the link of an invitation opens: join as who you are, sign in first, or make an account."""

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from frontend.editing.page import caller_of, form_page, show_faults
from frontend.editing.people_forms import AccountForm
from frontend.editing.wording import moment, sentence
from showplan.records.models import Invitation, Membership
from showplan.services.accounts import join_with_new_account
from showplan.services.errors import InvalidInput, RuleBroken
from showplan.services.members import accept, invitation_behind


@login_not_required
@form_page
def join(request: HttpRequest, secret: str) -> HttpResponse:
    """Project and role; those who are signed in accept, the others sign in first or make an account."""
    invitation = invitation_behind(secret)
    fault = ""
    if request.method == "POST":
        if not request.user.is_authenticated:
            return redirect("join", secret)
        try:
            member = accept(caller_of(request), secret)
        except RuleBroken as error:
            fault = sentence(error)
        else:
            return _welcome(request, member)
    return _page(request, secret, AccountForm(label_suffix=""), invitation, fault)


@login_not_required
@form_page
def new_account(request: HttpRequest, secret: str) -> HttpResponse:
    """An account for somebody who has none, and the membership with it."""
    invitation = invitation_behind(secret)
    if request.user.is_authenticated:
        return redirect("join", secret)
    form = AccountForm(request.POST or None, label_suffix="")
    if request.method == "POST" and form.is_valid():
        try:
            member = join_with_new_account(secret=secret, **form.cleaned_data)
        except InvalidInput as error:
            show_faults(form, error)
        else:
            login(request, member.user, backend="django.contrib.auth.backends.ModelBackend")
            return _welcome(request, member)
    return _page(request, secret, form, invitation)


def _welcome(request: HttpRequest, member: Membership) -> HttpResponse:
    messages.success(request, sentence(f"you are {member.role} of {member.project.name} now"))
    return redirect("project", member.project_id)


def _page(
    request: HttpRequest, secret: str, form: AccountForm, invitation: Invitation, fault: str = ""
) -> HttpResponse:
    context = {
        "secret": secret,
        "form": form,
        "invitation": invitation,
        "until": moment(invitation.expires_at),
        "fault": fault,
    }
    return render(request, "frontend/editing/join.html", context)
