"""Does the data fit: the air of a venue, and ways of sending side by side."""

from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import refuse_unknown_parameters
from api.problems import bad_parameter
from api.views.base import Endpoint
from api.views.plans import COMPUTE, ByHouse, house_of
from showplan.services.air import air_of_venue, strategies_of_venue


class Air(ByHouse):
    """Rate, channel load, latency, delivery and limits of every network and node."""

    compute = staticmethod(air_of_venue)


class AirStrategies(Endpoint):
    """Ways of sending one network's show."""

    scopes = COMPUTE
    schema_tag = "plan"
    own_parameters = True

    def get(self, request: Request, venue_id: UUID) -> Response:
        """Every sensible way with its rate, latency, delivery, air time and energy, the best first."""
        refuse_unknown_parameters(request, ("network", "house"))
        network = request.query_params.get("network")
        if not network:
            raise bad_parameter("network", "is missing")
        return Response(strategies_of_venue(self.venue(), network, house_of(request)))
