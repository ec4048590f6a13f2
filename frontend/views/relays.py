"""Relays and failures of a venue: asking where relays should stand, comparing the answers, taking one."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from frontend.editing.page import form_page
from frontend.editing.wording import sentence, whole_number
from frontend.present.asked_jobs import shown_job
from frontend.present.relays import ASKING, relays_page, result_of
from frontend.present.words import counted
from frontend.relay_form import RelayForm
from frontend.views.asking import REFUSALS, REFUSED, asking_page, cancelled, started
from showplan.records.models import Job, Venue
from showplan.services.errors import RuleBroken
from showplan.services.planning import PlannedVenue, plan_venue
from showplan.services.relay_asking import ask_without, choices_in
from showplan.services.relay_placing import Applied, apply_relay_job
from showplan.services.rights import Caller

TOLD = ("This was planned already.", "The planning is under way.")
CANCELLED = "The job is being cancelled; the best so far is kept, if there is one."


@form_page
def relays(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """The page; `job` chooses the answer, `house` the state of the house. A POST asks, cancels, or takes an answer."""
    return asking_page(request, venue_id, ASKING, _answer, lambda venue, job: result_of(plan_venue(venue), job))


def _answer(request: HttpRequest, caller: Caller, venue: Venue, common: dict[str, Any]) -> HttpResponse:
    planned, given = plan_venue(venue), request.POST
    wanted = given.get("job", "") or request.GET.get("job", "")
    shown = shown_job(venue, ASKING, wanted)
    do = given.get("do", "")
    asked = shown.parameters if shown is not None else None
    form = RelayForm(choices_in(planned.scene), given if do == "start" else None, asked)
    fault = ""
    if request.method == "POST":
        try:
            done = _done(request, caller, planned, form, shown)
        except REFUSALS as error:
            fault = sentence(error)
        else:
            if done is not None:
                return done
    context = {
        **common,
        **relays_page(planned, shown, request.GET.get("house", "")),
        "form": form,
        "fault": fault,
        "undo": _undo_address(request, venue),
    }
    return render(request, "frontend/relays.html", context, status=REFUSED if fault or form.errors else 200)


def _done(
    request: HttpRequest, caller: Caller, planned: PlannedVenue, form: RelayForm, shown: Job | None
) -> HttpResponse | None:
    """Do what a form asks for, and where to go then; None where the form has faults."""
    given, venue = request.POST, planned.venue
    match given.get("do", ""):
        case "start" if form.is_draft:
            return None
        case "start":
            return started(request, caller, venue, ASKING, form, TOLD)
        case "without" if shown is not None:
            job = ask_without(caller, shown.pk, given.get("site", ""))
            messages.success(request, f"Asked again without {given['site']}.")
            return redirect(ASKING.address(venue, job))
        case "cancel" if shown is not None:
            return cancelled(request, caller, venue, ASKING, shown, CANCELLED)
        case "apply" if shown is not None:
            number = whole_number(given.get("placement", ""))
            if number is None:
                raise RuleBroken("choose one of the placements")
            applied = apply_relay_job(caller, shown.pk, number, make_missing="make_missing" in given)
            messages.success(request, _applied_words(applied))
            return redirect(f"{ASKING.address(venue, shown)}&taken={applied.revision}")
    raise RuleBroken("choose one of the buttons of this page")


def _undo_address(request: HttpRequest, venue: Venue) -> str:
    """Where the revision that took a placement is undone; empty where nothing was written, or later work followed."""
    revision = whole_number(request.GET.get("taken", ""))
    if revision is None or revision != venue.project.revision:
        return ""
    return reverse("undo", args=[venue.project_id, revision])


def _applied_words(applied: Applied) -> str:
    parts = {
        "stay": applied.kept,
        "moved": applied.moved,
        "placed": [label for label in applied.placed if label not in applied.made],
        "new in the kit and placed": applied.made,
        "out of the venue": applied.removed,
    }
    told = [f"{words}: {', '.join(labels)}" for words, labels in parts.items() if labels]
    changed = len(applied.moved) + len(applied.placed) + len(applied.removed)
    lead = f"The placement is taken, {counted(changed, 'node')} changed." if changed else "The relays stand so already."
    return f"{lead} {sentence('; '.join(told))}" if told else lead
