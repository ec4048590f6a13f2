"""What pages that ask for a job share: who may, the fragment that tells how it fares, starting and cancelling."""

from collections.abc import Callable
from typing import Any, Protocol
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from frontend.editing.page import Judged, caller_of, focus_first_fault
from frontend.editing.places import sections
from frontend.present.asked_jobs import Asking, progress_of, shown_job
from frontend.present.heading import unplannable_page
from frontend.present.jobs import fingerprint_of_now
from showplan.records.models import Job, Venue
from showplan.services.errors import InvalidInput, PlanImpossible, RuleBroken, StaleWrite
from showplan.services.jobs.starting import cancel_job, start_job
from showplan.services.rights import Caller, may_edit, refuse_unless_editor, venue_for

REFUSED = 409
REFUSALS = (InvalidInput, PlanImpossible, RuleBroken, StaleWrite)

Answer = Callable[[HttpRequest, Caller, Venue, dict[str, Any]], HttpResponse]


class AskingForm(Judged, Protocol):
    """A form that asks for a job."""

    def is_valid(self) -> bool:
        """Whether everything could be read."""

    def given(self) -> dict[str, Any]:
        """The parameters."""

    def show(self, error: InvalidInput) -> None:
        """Put the services' faults beside the fields."""


def asking_page(
    request: HttpRequest,
    venue_id: UUID,
    asking: Asking,
    answer: Answer,
    result_of: Callable[[Venue, Job], Any],
) -> HttpResponse:
    """The page by `answer`, or what a script of it fetches: the progress alone, the result too when the job has ended.

    `result_of` makes the result's context; where it raises PlanImpossible, the whole page says what is wrong.
    """
    caller = caller_of(request)
    venue = venue_for(caller, venue_id)
    if request.method == "POST":
        refuse_unless_editor(caller, venue.project, "compute")
    common = {**sections(venue.project, venue), "may_edit": may_edit(caller, venue.project)}
    try:
        if request.method != "POST" and request.headers.get("HX-Request"):
            return _fragment(request, venue, asking, common, result_of)
        return answer(request, caller, venue, common)
    except PlanImpossible as error:
        context = {**common, **unplannable_page(venue, error, asking.page)}
        return render(request, "frontend/venue-faults.html", context)


def _fragment(
    request: HttpRequest,
    venue: Venue,
    asking: Asking,
    common: dict[str, Any],
    result_of: Callable[[Venue, Job], Any],
) -> HttpResponse:
    job = shown_job(venue, asking, request.GET.get("job", ""))
    context = {**common, **progress_of(venue, asking, job, fingerprint_of_now(venue)), "is_fragment": True}
    if job is not None and job.is_finished:
        try:
            context["result"] = result_of(venue, job)
        except PlanImpossible:  # edited meanwhile
            return HttpResponse(headers={"HX-Refresh": "true"})
    return render(request, f"frontend/_{asking.stem}_progress.html", context)


def started(
    request: HttpRequest, caller: Caller, venue: Venue, asking: Asking, form: AskingForm, told: tuple[str, str]
) -> HttpResponse | None:
    """Start what the form asks for and go there; None where it has faults. `told`: done already, under way."""
    if not form.is_valid():
        focus_first_fault(form)
        return None
    try:
        job = start_job(caller, venue, asking.kind, form.given())
    except InvalidInput as error:
        form.show(error)
        focus_first_fault(form)
        return None
    messages.success(request, told[0] if job.is_finished else told[1])
    return redirect(asking.address(venue, job))


def cancelled(request: HttpRequest, caller: Caller, venue: Venue, asking: Asking, job: Job, told: str) -> HttpResponse:
    """Take the job back and show it."""
    cancel_job(caller, job.pk)
    messages.success(request, told)
    return redirect(asking.address(venue, job))
