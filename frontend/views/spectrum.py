"""The spectrum of a venue, and taking the radio channels that are best there."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from frontend.editing.page import caller_of, form_page
from frontend.editing.places import sections
from frontend.present.heading import unplannable_page
from frontend.present.spectrum import spectrum_page
from frontend.present.words import counted
from showplan.services.errors import PlanImpossible
from showplan.services.planning import plan_venue
from showplan.services.rights import may_edit, venue_for
from showplan.services.spectrum import apply_channels


@form_page
def spectrum(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """Bands, radio channels and the channel plan; a POST takes the plan. `house` chooses the state of the house."""
    caller = caller_of(request)
    found = venue_for(caller, venue_id)
    common = {**sections(found.project, found), "may_edit": may_edit(caller, found.project)}
    house = request.GET.get("house", "")
    try:
        if request.method == "POST":
            plan = apply_channels(caller, found, house)
            changed = counted(sum(not choice.is_kept for choice in plan.choices), "network")
            messages.success(request, f"The best radio channels are in use here: {changed} changed.")
            return redirect(f"{reverse('spectrum', args=[found.pk])}{f'?house={house}' if house else ''}")
        return render(request, "frontend/spectrum.html", {**common, **spectrum_page(plan_venue(found), house)})
    except PlanImpossible as error:
        return render(request, "frontend/venue-faults.html", {**common, **unplannable_page(found, error, "spectrum")})
