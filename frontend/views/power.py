"""The power of a venue's kit: supplies, wiring, heat and light."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from frontend.editing.places import sections
from frontend.present.heading import unplannable_page
from frontend.present.power import power_page
from frontend.views.page import page
from showplan.services.errors import PlanImpossible
from showplan.services.planning import plan_venue
from showplan.services.rights import Caller, venue_for


@page
def power(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """Every supply through the show day and every node's line diagram; `node` shows one node alone."""
    found = venue_for(Caller(user=request.user), venue_id)
    common = sections(found.project, found)
    try:
        shown = power_page(plan_venue(found), request.GET.get("node", ""))
    except PlanImpossible as error:
        return render(request, "frontend/venue-faults.html", {**common, **unplannable_page(found, error, "power")})
    return render(request, "frontend/power.html", {**common, **shown})
