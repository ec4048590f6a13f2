"""The head of every page of a venue: where it is, its dates, and the pages that stand beside it."""

from typing import Any

from django.urls import reverse

from frontend.present.projects import region_name
from frontend.present.words import day
from showplan.records.models import Venue
from showplan.services.errors import PlanImpossible

PAGES = (
    ("venue", "plan"),
    ("spectrum", "spectrum and radio channels"),
    ("calibration", "calibration"),
    ("relays", "relays and failures"),
    ("air", "data on the air"),
    ("power", "power"),
    ("jobs", "work in progress"),
)


def heading(venue: Venue, here: str) -> dict[str, Any]:
    """What `_venue_head.html` shows; `here` is the name of the page's address."""
    return {
        "venue": venue,
        "project": venue.project,
        "region": region_name(venue.region),
        "dates": [{"day": day(one.date), "kind": one.kind, "note": one.note} for one in venue.tour_dates.all()],
        "venue_pages": [
            {"words": words, "address": reverse(name, args=[venue.pk]), "is_here": name == here}
            for name, words in PAGES
        ],
    }


def unplannable_page(venue: Venue, error: PlanImpossible, here: str) -> dict[str, Any]:
    """A venue whose records break a rule the planner needs: every fault in place of a plan."""
    return {**heading(venue, here), "faults": [str(fault) for fault in error.faults]}
