"""Does the data fit: the air of a venue's networks, ways of sending side by side, and the packet simulation."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from frontend.editing.page import caller_of, form_page
from frontend.editing.places import sections
from frontend.editing.wording import sentence
from frontend.present.air import ASKING, air_page
from frontend.present.air_ways import ways_of
from frontend.present.asked_jobs import shown_job
from frontend.present.heading import heading, unplannable_page
from frontend.present.jobs import fingerprint_of_now
from frontend.present.simulations import simulation_of
from frontend.simulation_form import SimulationForm
from frontend.views.asking import REFUSALS, REFUSED, asking_page, cancelled, started
from frontend.views.page import page
from showplan.records.models import Job, Venue
from showplan.services.air import sending_networks
from showplan.services.computing import state_of
from showplan.services.errors import PlanImpossible, RuleBroken
from showplan.services.planning import plan_venue
from showplan.services.rights import Caller, may_edit, venue_for

TOLD = ("This was simulated already.", "The simulation is under way.")
CANCELLED = "The job is being cancelled; the replications that are done are kept."


@form_page
def air(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """The page; `job` chooses the simulation, `house` the state of the house, `order` the order of the nodes.

    A POST asks for a simulation or cancels one.
    """
    return asking_page(request, venue_id, ASKING, _answer, _result)


def _result(venue: Venue, job: Job) -> Any:
    return simulation_of(job, fingerprint_of_now(venue))


def _answer(request: HttpRequest, caller: Caller, venue: Venue, common: dict[str, Any]) -> HttpResponse:
    planned, given = plan_venue(venue), request.POST
    shown = shown_job(venue, ASKING, given.get("job", "") or request.GET.get("job", ""))
    asked = shown.parameters if shown is not None else None
    state = state_of(planned.plan, request.GET.get("house", ""))
    form = SimulationForm(sending_networks(planned, state), state, given if given.get("do") == "start" else None, asked)
    fault = ""
    if request.method == "POST":
        try:
            done = _done(request, caller, venue, form, shown)
        except REFUSALS as error:
            fault = sentence(error)
        else:
            if done is not None:
                return done
    context = {
        **common,
        **air_page(planned, shown, request.GET.get("house", ""), request.GET.get("order", "")),
        "form": form,
        "fault": fault,
    }
    return render(request, "frontend/air.html", context, status=REFUSED if fault or form.errors else 200)


def _done(
    request: HttpRequest, caller: Caller, venue: Venue, form: SimulationForm, shown: Job | None
) -> HttpResponse | None:
    """Do what a form asks for, and where to go then; None where the form has faults."""
    match request.POST.get("do", ""):
        case "start":
            return started(request, caller, venue, ASKING, form, TOLD)
        case "cancel" if shown is not None:
            return cancelled(request, caller, venue, ASKING, shown, CANCELLED)
    raise RuleBroken("choose one of the buttons of this page")


@page
def strategies(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """Ways of sending `network`'s show and how to split it; a script of the page fetches the tables alone."""
    caller = caller_of(request)
    venue = venue_for(caller, venue_id)
    common = {**sections(venue.project, venue), "may_edit": may_edit(caller, venue.project)}
    try:
        planned = plan_venue(venue)
    except PlanImpossible as error:
        if request.headers.get("HX-Request"):
            return HttpResponse(headers={"HX-Refresh": "true"})
        return render(request, "frontend/venue-faults.html", {**common, **unplannable_page(venue, error, "air")})
    ways = ways_of(planned, request.GET.get("network", ""), request.GET.get("house", ""))
    if request.headers.get("HX-Request"):
        return render(request, "frontend/_air_ways.html", {**common, **ways})
    plan = planned.plan
    stamp = {"fingerprint": plan.fingerprint, "planner_version": plan.planner_version}
    return render(request, "frontend/air-ways.html", {**common, **heading(venue, ""), **stamp, **ways})
