"""One venue: its page, its coverage picture and its Scene file."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.utils.text import slugify

from frontend.editing.places import sections
from frontend.present.choice import chosen
from frontend.present.venues import unplannable_page, venue_page
from frontend.views.page import page
from showplan.services.errors import InvalidInput, NotFound, PlanImpossible
from showplan.services.pictures import coverage_png, level_coverage
from showplan.services.planning import PlannedVenue, plan_venue, scene_text
from showplan.services.rights import Caller, may_edit, venue_for


@page
def venue(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """Plan, findings, nodes and assumptions of a venue; `level`, `network` and `sender` choose what the plan shows."""
    caller = Caller(user=request.user)
    found = venue_for(caller, venue_id)
    try:
        planned = plan_venue(found)
    except PlanImpossible as error:
        context = {**sections(found.project, found), **unplannable_page(found, error)}
        context["may_edit"] = may_edit(caller, found.project)
        return render(request, "frontend/venue-faults.html", context)
    context = {**sections(found.project, found), **venue_page(planned, chosen(planned, request.GET))}
    context["may_edit"] = may_edit(caller, found.project)
    return render(request, "frontend/venue.html", context)


@page
def coverage(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """The coverage of one level as a PNG, for the same choice as the page."""
    planned = _planned(request, venue_id)
    choice = chosen(planned, request.GET)
    if choice.level is None or choice.network is None:
        raise NotFound("this venue has no level or no network to show")
    etag = quote_etag(f"{planned.plan.fingerprint}:{planned.plan.planner_version}:{choice.query}")
    unchanged = get_conditional_response(request, etag=etag)
    if unchanged is not None:
        return unchanged
    try:
        found = level_coverage(planned, choice.level.name, choice.network, choice.sender)
    except InvalidInput as error:
        raise NotFound(str(error)) from error
    picture = coverage_png(found, choice.level.width_m, choice.level.depth_m)
    return HttpResponse(picture, content_type="image/png", headers={"ETag": etag})


@page
def scene_file(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """The Scene as a JSON file: everything the numbers on the page follow from."""
    planned = _planned(request, venue_id)
    name = f"{slugify(planned.venue.name) or 'venue'}-scene-{planned.plan.fingerprint[:12]}.json"
    return HttpResponse(
        scene_text(planned),
        content_type="application/json",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


def _planned(request: HttpRequest, venue_id: UUID) -> PlannedVenue:
    try:
        return plan_venue(venue_for(Caller(user=request.user), venue_id))
    except PlanImpossible as error:
        raise NotFound(f"this venue cannot be planned yet: {error}") from error
