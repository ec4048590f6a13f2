"""Plans of venues, kept in memory by the fingerprint of their Scene."""

from collections import OrderedDict
from dataclasses import dataclass
from threading import Lock

from showplan.planner.findings import Finding
from showplan.planner.readiness import VenuePlan, plan
from showplan.planner.scene import Scene
from showplan.planner.scene_file import fingerprint, write
from showplan.planner.spectrum import kit_findings
from showplan.records.models import Project, Venue
from showplan.services.scenes import build_scene

MOST_KEPT = 64
_kept: OrderedDict[str, VenuePlan] = OrderedDict()
_lock = Lock()


@dataclass(frozen=True)
class PlannedVenue:
    """A venue with its Scene and what the planner says of it."""

    venue: Venue
    scene: Scene
    plan: VenuePlan


def plan_venue(venue: Venue) -> PlannedVenue:
    """The plan of a venue as its records stand now. Raises PlanImpossible."""
    scene = build_scene(venue)
    return PlannedVenue(venue, scene, _plan(scene))


def plan_project(project: Project) -> list[PlannedVenue]:
    """The plan of each venue of a project, in the order of the tour."""
    return [plan_venue(venue) for venue in venues_in_tour_order(project)]


def region_conflicts(planned: PlannedVenue) -> tuple[Finding, ...]:
    """What the venue's region has against the tour's kit, placed there or not: stops and warnings, gravest first."""
    found = (finding for finding in kit_findings(planned.scene) if finding.severity != "note")
    return tuple(sorted(found, key=lambda finding: finding.rank))


def venues_in_tour_order(project: Project) -> list[Venue]:
    """Venues by their first date; those without a date last, by name."""
    venues = list(project.venues.select_related("project").prefetch_related("tour_dates"))

    def first_date(venue: Venue) -> tuple[bool, str, str]:
        dates = [tour_date.date.isoformat() for tour_date in venue.tour_dates.all()]
        return (not dates, min(dates, default=""), venue.name)

    return sorted(venues, key=first_date)


def scene_fingerprint(venue: Venue) -> str:
    """The fingerprint of a venue's Scene as its records stand now, without planning it. Raises PlanImpossible."""
    return fingerprint(build_scene(venue))


def scene_text(planned: PlannedVenue) -> str:
    """The Scene of a planned venue as a file's text."""
    return write(planned.scene)


def _plan(scene: Scene) -> VenuePlan:
    key = fingerprint(scene)
    with _lock:
        if key in _kept:
            _kept.move_to_end(key)
            return _kept[key]
    made = plan(scene, key)
    with _lock:
        _kept[key] = made
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return made
