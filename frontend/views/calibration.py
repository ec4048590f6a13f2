"""The calibration of a venue from its readings, planning with it, and going back."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode

from frontend.editing.page import caller_of, form_page
from frontend.editing.places import sections
from frontend.editing.wording import sentence
from frontend.present.calibrations import calibration_page
from frontend.present.heading import unplannable_page
from showplan.records.models import Venue
from showplan.services.calibrating import apply_fit, plan_with
from showplan.services.errors import PlanImpossible, RuleBroken
from showplan.services.planning import plan_venue
from showplan.services.rights import Caller, may_edit, refuse_unless_editor, venue_for

REFUSED = 409


@form_page
def calibration(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """Predicted against measured, coefficients, kept calibrations; a POST plans with one of them or with none."""
    caller = caller_of(request)
    found = venue_for(caller, venue_id)
    network = request.GET.get("network", "")
    common = {**sections(found.project, found), "may_edit": may_edit(caller, found.project)}
    faults: list[str] = []
    try:
        if request.method == "POST":
            refuse_unless_editor(caller, found.project)
            faults, told = _changed(request, caller, found)
            if not faults:
                messages.success(request, told)
                query = f"?{urlencode({'network': network})}" if network else ""
                return redirect(f"{reverse('calibration', args=[found.pk])}{query}")
        context = {**common, **calibration_page(plan_venue(found), network, faults)}
    except PlanImpossible as error:
        context = {**common, **unplannable_page(found, error, "calibration")}
        return render(request, "frontend/venue-faults.html", context)
    return render(request, "frontend/calibration.html", context, status=REFUSED if faults else 200)


def _changed(request: HttpRequest, caller: Caller, venue: Venue) -> tuple[list[str], str]:
    """Do what the button says: why it was refused, or the words for what was done."""
    wanted = request.POST.get("do", "")
    try:
        match wanted:
            case "apply":
                record = apply_fit(caller, venue, request.POST.get("network", ""))
                return [], f"The plan is made with {record.name} from now on."
            case "use":
                name = request.POST.get("name", "")
                plan_with(caller, venue, name)
                return [], f"The plan is made with {name} again."
            case "tables":
                plan_with(caller, venue, None)
                return [], "The plan is made with the tables alone again."
    except PlanImpossible as error:
        return [str(fault) for fault in error.faults], ""
    except RuleBroken as error:
        return [sentence(error)], ""
    return ["Choose one of the buttons of this page."], ""
