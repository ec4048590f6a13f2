"""A project's history by revision, and taking a revision back."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from frontend.editing.chronicle import revisions_in_words
from frontend.editing.page import caller_of, form_page
from frontend.editing.places import sections
from frontend.editing.wording import sentence, whole_number
from frontend.views.page import page
from showplan.services.errors import InvalidInput, NotFound, RuleBroken, StaleWrite, StillInUse
from showplan.services.history import undo_revision
from showplan.services.history_reading import REVISIONS, one_revision, revisions_of
from showplan.services.rights import may_edit, project_for, refuse_unless_editor, venue_for

REFUSED = 409


@page
def history(request: HttpRequest, project_id: UUID) -> HttpResponse:
    """What happened in the project, newest first; `venue` narrows it, `below` continues it."""
    caller = caller_of(request)
    project = project_for(caller, project_id)
    wanted, below = request.GET.get("venue", ""), request.GET.get("below", "")
    venue = venue_for(caller, wanted) if wanted else None
    if venue is not None and venue.project_id != project.pk:
        raise NotFound(f"there is no venue {wanted} in {project.name!r}")
    found = revisions_of(project, below=whole_number(below), venue=venue)
    context = {
        **sections(project),
        "here": "history",
        "revisions": revisions_in_words(project, found),
        "venues": project.venues.order_by("name", "id"),
        "chosen": venue,
        "more": found[-1].number if len(found) == REVISIONS else None,
        "may_edit": may_edit(caller, project),
    }
    return render(request, "frontend/editing/history.html", context)


@form_page
def undo(request: HttpRequest, project_id: UUID, revision: int) -> HttpResponse:
    """Say what the revision did, then take it back as a new one."""
    caller = caller_of(request)
    project = project_for(caller, project_id)
    refuse_unless_editor(caller, project)
    [shown] = revisions_in_words(project, [one_revision(project, revision)])
    fault = ""
    if request.method == "POST":
        try:
            undo_revision(caller, project, revision)
        except (RuleBroken, InvalidInput, StillInUse, StaleWrite) as error:
            fault = sentence(error)
        else:
            messages.success(request, f"Revision {revision} is undone.")
            return redirect("history", project.pk)
    context = {**sections(project), "here": "history", "one": shown, "fault": fault}
    return render(request, "frontend/editing/undo.html", context, status=REFUSED if fault else 200)
