"""One venue: its page and its Scene file."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.text import slugify

from frontend.editing.places import sections
from frontend.present.choice import chosen
from frontend.present.heading import unplannable_page
from frontend.present.venues import venue_page
from frontend.views.page import page
from showplan.services.errors import NotFound, PlanImpossible
from showplan.services.planning import PlannedVenue, plan_venue, scene_text
from showplan.services.rights import Caller, may_edit, venue_for


@page
def venue(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """Plan, findings, nodes and assumptions of a venue; the query chooses what the plan shows."""
    caller = Caller(user=request.user)
    found = venue_for(caller, venue_id)
    try:
        planned = plan_venue(found)
    except PlanImpossible as error:
        context = {**sections(found.project, found), **unplannable_page(found, error, "venue")}
        context["may_edit"] = may_edit(caller, found.project)
        return render(request, "frontend/venue-faults.html", context)
    context = {**sections(found.project, found), **venue_page(planned, chosen(planned, request.GET))}
    context["may_edit"] = may_edit(caller, found.project)
    return render(request, "frontend/venue.html", context)


@page
def scene_file(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """The Scene as a JSON file: everything the numbers on the page follow from."""
    planned = planned_for(request, venue_id)
    name = f"{slugify(planned.venue.name) or 'venue'}-scene-{planned.plan.fingerprint[:12]}.json"
    return HttpResponse(
        scene_text(planned),
        content_type="application/json",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


def planned_for(request: HttpRequest, venue_id: UUID) -> PlannedVenue:
    """The plan behind an address that shows nothing without one. Raises NotFound."""
    try:
        return plan_venue(venue_for(Caller(user=request.user), venue_id))
    except PlanImpossible as error:
        raise NotFound(f"this venue cannot be planned yet: {error}") from error
