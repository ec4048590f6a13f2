"""What survives a failure in a venue, as plain values for pages, API and commands."""

from dataclasses import asdict
from typing import Any

from showplan.planner.failures import failure_view
from showplan.records.models import Venue
from showplan.services.computing import state_of
from showplan.services.planning import PlannedVenue, plan_venue


def failures_of(venue: Venue, house: str = "") -> dict[str, Any]:
    """For each network: who goes dark and who is weakened by each loss, the worst first."""
    return failures_in(plan_venue(venue), house)


def failures_in(planned: PlannedVenue, house: str = "") -> dict[str, Any]:
    """The same for a venue that is planned already."""
    plan = planned.plan
    state = state_of(plan, house)
    return {
        "fingerprint": plan.fingerprint,
        "planner_version": plan.planner_version,
        "house": state,
        "networks": [asdict(failure_view(links)) for links in plan.analyses[state].links.values()],
    }
