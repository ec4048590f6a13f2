"""Spectrum, radio channels and calibration of a venue."""

from typing import Any
from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from api.fields import StrictCharField
from api.filters import refuse_unknown_parameters
from api.problems import bad_parameter
from api.repeats import once
from api.serializers import StrictSerializer
from api.views.base import Endpoint
from api.views.plans import COMPUTE, ByHouse, house_of
from showplan.records.models import Venue
from showplan.services.calibrating import apply_fit, fit_venue, plan_with
from showplan.services.rights import refuse_unless_editor
from showplan.services.spectrum import apply_channels, channel_values, channels_for, spectrum_strips


class ChoiceSerializer(StrictSerializer):
    """Which of the venue's calibrations to plan with; null: the tables alone."""

    name = StrictCharField(max_length=80, allow_null=True)


class Spectrum(ByHouse):
    """What is taken, what is ours and which radio channels there are, band by band."""

    @staticmethod
    def compute(venue: Venue, house: str) -> Any:
        """The strips."""
        return {"bands": spectrum_strips(venue, house)}


class RadioChannels(ByHouse):
    """The radio channels that the networks should take here, proven best."""

    post_parameters = ("house",)

    @staticmethod
    def compute(venue: Venue, house: str) -> Any:
        """The plan."""
        return channel_values(channels_for(venue, house))

    def post(self, request: Request, venue_id: UUID) -> Response:
        """Take these channels in this venue; elsewhere the networks keep theirs."""
        venue = self.venue()
        refuse_unless_editor(self.caller, venue.project)
        house = house_of(request)
        return once(request, lambda: Response(channel_values(apply_channels(self.caller, venue, house))))


class CalibrationFit(Endpoint):
    """What the walk tests say of the venue's model."""

    scopes = COMPUTE
    schema_tag = "calibrations"
    own_parameters = True
    post_parameters = ("network",)

    def get(self, request: Request, venue_id: UUID) -> Response:
        """The fit for the readings of a network's PHY: coefficients, errors, every reading, findings."""
        refuse_unknown_parameters(request, ("network",))
        return Response(fit_venue(self.venue(), _network(request)).as_dict())

    def post(self, request: Request, venue_id: UUID) -> Response:
        """Keep the fit as a new calibration and plan with it; undo the revision, or choose another, to go back."""
        venue = self.venue()
        refuse_unless_editor(self.caller, venue.project)
        network = _network(request)
        return once(request, lambda: self._apply(venue, network))

    def _apply(self, venue: Venue, network: str) -> Response:
        made = apply_fit(self.caller, venue, network)
        return Response({"name": made.name, "revision": venue.project.revision})


class CalibrationInUse(Endpoint):
    """Which calibration the venue is planned with."""

    schema_tag = "calibrations"

    def post(self, request: Request, venue_id: UUID) -> Response:
        """Plan with another of the venue's calibrations, or (null) with the tables alone."""
        venue = self.venue()
        refuse_unless_editor(self.caller, venue.project)
        return once(request, lambda: self._choose(request.data, venue))

    def _choose(self, data: Any, venue: Venue) -> Response:
        given = ChoiceSerializer(data=data)
        given.is_valid(raise_exception=True)
        plan_with(self.caller, venue, given.validated_data["name"])
        return Response({"name": given.validated_data["name"], "revision": venue.project.revision})


def _network(request: Request) -> str:
    network: str | None = request.query_params.get("network")
    if not network:
        raise bad_parameter("network", "is missing")
    return network
