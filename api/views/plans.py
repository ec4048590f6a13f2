"""What the planner computes of a venue: needs the scope compute."""

from collections.abc import Callable
from reprlib import repr as brief
from typing import Any, ClassVar
from uuid import UUID

from django.http import HttpResponse
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import refuse_unknown_parameters
from api.problems import bad_parameter
from api.rendering import PlainJSONRenderer
from api.views.base import Endpoint
from showplan.records.models import Venue
from showplan.services.computing import (
    HOUSE_STATES,
    PARTS,
    CoverageQuery,
    coverage_of,
    coverage_values,
    links_of,
    plan_parts,
    project_readiness,
    readiness_of,
    routes_of,
    scene_document,
)
from showplan.services.coverage_files import as_csv, as_npz
from showplan.services.failures import failures_of
from showplan.services.pictures import LAYERS, coverage_png
from showplan.services.projects import revisions_of

COMPUTE = {"GET": "compute"}
PLAIN = (PlainJSONRenderer,)


class Computed(Endpoint):
    """One computed result of a venue, whole."""

    renderer_classes = PLAIN
    scopes = COMPUTE
    schema_tag = "plan"
    compute: ClassVar[Callable[[Venue], dict[str, Any]]]

    def get(self, request: Request, venue_id: UUID) -> Response:
        """The result as the records stand now; its fingerprint is the Scene's."""
        return Response(type(self).compute(self.venue()))


class SceneOfVenue(Computed):
    """The frozen Scene, in the form that `manage.py plan` reads."""

    compute = staticmethod(scene_document)


class ByHouse(Endpoint):
    """A computed result that depends on the state of the house: empty, or full with the audience in."""

    renderer_classes = PLAIN
    scopes = COMPUTE
    schema_tag = "plan"
    own_parameters = True
    compute: ClassVar[Callable[[Venue, str], Any]]

    def get(self, request: Request, venue_id: UUID) -> Response:
        """The result for `house`, empty or full; without it the harder of the two."""
        refuse_unknown_parameters(request, ("house",))
        return Response(type(self).compute(self.venue(), house_of(request)))


class Links(ByHouse):
    """Every link with distance, loss, received power, margin and delivery."""

    compute = staticmethod(links_of)


class Routes(ByHouse):
    """The best route to each node, and the single points of failure."""

    compute = staticmethod(routes_of)


class Failures(ByHouse):
    """What the loss of each gateway, relay and link in use does, and the pair of relays that hurts most."""

    compute = staticmethod(failures_of)


class Readiness(Computed):
    """The seven questions, and every finding."""

    compute = staticmethod(readiness_of)


class Plan(Endpoint):
    """Several results of one plan in one answer: half of what they cost one by one."""

    renderer_classes = PLAIN
    scopes = COMPUTE
    schema_tag = "plan"
    own_parameters = True

    def get(self, request: Request, venue_id: UUID) -> Response:
        """Links, routes and readiness under their names, in the form each has alone; `include` narrows to some."""
        refuse_unknown_parameters(request, ("include", "house"))
        house = house_of(request)
        return Response(plan_parts(self.venue(), _parts(request), house))


class CoverageOfLevel(Endpoint):
    """Coverage of a level, as numbers or as a picture."""

    renderer_classes = PLAIN
    scopes = COMPUTE
    schema_tag = "plan"
    own_parameters = True
    KNOWN: ClassVar[tuple[str, ...]] = ("level", "network", "sender", "step_m", "height_m", "house")

    def query(self, request: Request) -> CoverageQuery:
        """The coverage that the parameters ask for."""
        refuse_unknown_parameters(request, self.KNOWN)
        given = request.query_params
        for name in ("level", "network"):
            if not given.get(name):
                raise bad_parameter(name, "is missing")
        numbers = {name: _number(name, given[name]) for name in ("step_m", "height_m") if name in given}
        sender, house = given.get("sender", ""), house_of(request)
        return CoverageQuery(given["level"], given["network"], sender, house=house, **numbers)

    def get(self, request: Request, venue_id: UUID) -> Any:
        """For each cell: margin of the best sender, what is left without it, delivery; and how each zone fares."""
        return Response(coverage_values(coverage_of(self.venue(), self.query(request))))


class CoveragePicture(CoverageOfLevel):
    """The same as a PNG, with the colours and hatching of the page's legend."""

    KNOWN = (*CoverageOfLevel.KNOWN, "layer")

    def get(self, request: Request, venue_id: UUID) -> Any:
        """The picture of one layer: margin, second (best) or delivery; up the plan is up."""
        venue, query = self.venue(), self.query(request)
        asked = request.query_params.get("layer", LAYERS[0])
        layer = next((one for one in LAYERS if one == asked), None)
        if layer is None:
            raise bad_parameter("layer", f"must be {', '.join(LAYERS)}, not {brief(asked)}")
        found = coverage_of(venue, query)
        level = venue.levels.get(name=found.level)
        return HttpResponse(coverage_png(found, level.width_m, level.depth_m, layer), content_type="image/png")


class CoverageArchive(CoverageOfLevel):
    """The same as a numpy archive, each sender apart."""

    def get(self, request: Request, venue_id: UUID) -> Any:
        """Arrays x_m, y_m, transmitters, and margin_db and delivery (transmitters, rows, columns)."""
        found = coverage_of(self.venue(), self.query(request))
        return HttpResponse(as_npz(found), content_type="application/octet-stream")


class CoverageTable(CoverageOfLevel):
    """The same as CSV, a line for each cell."""

    def get(self, request: Request, venue_id: UUID) -> Any:
        """Centre, best and second-best margin, delivery and best sender of each cell."""
        found = coverage_of(self.venue(), self.query(request))
        return HttpResponse(as_csv(found), content_type="text/csv; charset=utf-8")


class ProjectReadiness(Endpoint):
    """The readiness table of a tour."""

    scopes = COMPUTE
    schema_tag = "plan"

    def get(self, request: Request, project_id: UUID) -> Response:
        """Of each venue, in tour order, the seven answers and what its region has against the kit of the tour."""
        return Response({"venues": project_readiness(self.project())})


class Revisions(Endpoint):
    """How far a project has grown."""

    schema_tag = "projects"

    def get(self, request: Request, project_id: UUID) -> Response:
        """Revision of the project and of each venue: poll this to see whether anything changed."""
        return Response(revisions_of(self.project()))


def house_of(request: Request) -> str:
    """The state of the house that the call asks for; empty for the harder one."""
    house: str | None = request.query_params.get("house")
    if house is None:
        return ""
    if house not in HOUSE_STATES:
        raise bad_parameter("house", f"must be {' or '.join(HOUSE_STATES)}, not {brief(house)}")
    return house


def _parts(request: Request) -> tuple[str, ...]:
    asked = request.query_params.get("include")
    parts = PARTS if asked is None else tuple(asked.split(","))
    for part in parts:
        if part not in PARTS:
            raise bad_parameter("include", f"must name {', '.join(PARTS)} with commas between, not {brief(part)}")
    return parts


def _number(name: str, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not -1e6 < value < 1e6:
        raise bad_parameter(name, f"must be a number of metres, not {brief(text)}")
    return value
