"""Work in progress: the long computations of a venue, starting one, looking at one, cancelling one."""

import json
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from frontend.editing.page import caller_of, form_page
from frontend.editing.places import sections
from frontend.editing.wording import sentence
from frontend.job_forms import JobForm
from frontend.present.jobs import job_page, jobs_page, work_in_progress
from frontend.views.page import page
from showplan.records.models import Venue
from showplan.services.errors import InvalidInput, NotAllowed, NotFound, PlanImpossible, RuleBroken
from showplan.services.jobs.kinds import KINDS
from showplan.services.jobs.reading import job_named
from showplan.services.jobs.starting import cancel_job, start_job
from showplan.services.rights import Caller, may_edit, refuse_unless_editor, venue_for

REFUSED = 409


@form_page
def jobs(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """The list with its forms; a POST starts a job. A script of the page fetches the list alone."""
    caller = caller_of(request)
    venue = venue_for(caller, venue_id)
    if request.method != "POST" and request.headers.get("HX-Request"):
        rights = {"may_edit": may_edit(caller, venue.project)}
        return render(request, "frontend/_jobs.html", {**work_in_progress(venue), **rights})
    forms = [JobForm(kind) for kind in KINDS.values() if not kind.page]
    faults: list[str] = []
    if request.method == "POST":
        refuse_unless_editor(caller, venue.project, "compute")
        kind = KINDS.get(request.POST.get("kind", ""))
        if kind is None or kind.page:
            faults = ["Choose one of the forms of this page."]
        else:
            form = JobForm(kind, request.POST)
            forms = [form if one.kind is kind else one for one in forms]
            faults, told = _started(caller, venue, form)
            if told:
                messages.success(request, told)
                return redirect("jobs", venue.pk)
    context = {**sections(venue.project, venue), **jobs_page(venue), "forms": forms, "faults": faults}
    context["may_edit"] = may_edit(caller, venue.project)
    context["with_page"] = [(kind, reverse(kind.page, args=[venue.pk])) for kind in KINDS.values() if kind.page]
    has_faults = bool(faults) or any(form.errors for form in forms)
    return render(request, "frontend/jobs.html", context, status=REFUSED if has_faults else 200)


@page
def job(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """One job: what was asked for, how it fared, the result in a few sentences."""
    caller = caller_of(request)
    found = _job_of_a_venue(caller, job_id)
    context = {**sections(found.project, found.venue), **job_page(found)}
    context["may_edit"] = may_edit(caller, found.project)
    return render(request, "frontend/job.html", context)


@page
def result(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """The whole result as a JSON file. Raises NotFound where there is none."""
    found = _job_of_a_venue(caller_of(request), job_id)
    if found.result is None:
        raise NotFound(f"this job has no result: it is {found.state}")
    headers = {"Content-Disposition": f'attachment; filename="{found.kind}-{found.scene_fingerprint[:12]}.json"'}
    text = json.dumps(found.result, indent=1, ensure_ascii=False) + "\n"
    return HttpResponse(text, content_type="application/json", headers=headers)


@require_POST
def cancel(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Take the job back and return to the list."""
    caller = caller_of(request)
    try:
        _job_of_a_venue(caller, job_id)
        found = cancel_job(caller, job_id)
    except NotFound as error:
        raise Http404(sentence(error)) from error
    except NotAllowed as error:
        raise PermissionDenied(sentence(error)) from error
    told = "The job is cancelled." if found.is_finished else "The job is being cancelled; that takes a few seconds."
    messages.success(request, told)
    return redirect("jobs", found.venue_id)


def _job_of_a_venue(caller: Caller, job_id: UUID) -> Any:
    found = job_named(caller, job_id)
    if found.venue is None:
        raise NotFound(f"there is no job {job_id} of a venue")
    return found


def _started(caller: Caller, venue: Venue, form: JobForm) -> tuple[list[str], str]:
    """Start the job of a form: why it was refused, or the words for what was done. Faults of fields go to the form."""
    if not form.is_valid():
        return [], ""
    try:
        job = start_job(caller, venue, form.kind.name, form.given())
    except InvalidInput as error:
        form.show(error)
        return [], ""
    except PlanImpossible as error:
        return [str(fault) for fault in error.faults], ""
    except RuleBroken as error:
        return [sentence(error)], ""
    if job.is_finished:
        return [], f"{form.kind.title}: this was computed already; its result is in the list."
    return [], f"{form.kind.title}: the job is in the list."
