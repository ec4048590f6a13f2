"""What every endpoint shares: who calls, which scope, size limit, cache rules."""

from collections.abc import Mapping
from typing import Any, ClassVar

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from rest_framework.exceptions import NotFound as UnknownAddressError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.callers import caller_of
from api.filters import refuse_unknown_parameters
from api.versions import etag_of
from showplan.records.models import Project, Venue
from showplan.services.nouns import Noun
from showplan.services.record_writing import Parent
from showplan.services.rights import Caller, project_for, venue_for


class Endpoint(APIView):
    """Base of all views; `scopes` override scope by method.

    No method takes a query parameter, but: GET where the view checks them itself (`own_parameters`), and POST those
    of `post_parameters`.
    """

    own_parameters: ClassVar[bool] = False
    post_parameters: ClassVar[tuple[str, ...]] = ()
    scopes: ClassVar[Mapping[str, str]] = {}
    schema_tag: ClassVar[str] = ""

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Refuse what is too large before reading it, then check who calls."""
        length = request.META.get("CONTENT_LENGTH") or "0"
        if length.isdigit() and int(length) > settings.DATA_UPLOAD_MAX_MEMORY_SIZE:
            raise RequestDataTooBig
        # The check against forged calls looks into a session's form data and so uses the stream up; what hashes the
        # body later (Idempotency-Key) needs it kept first.
        _ = request.body
        super().initial(request, *args, **kwargs)
        if not (self.own_parameters and request.method in ("GET", "HEAD")):
            refuse_unknown_parameters(request, self.post_parameters if request.method == "POST" else ())

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        """Answers are the caller's own: no cache between may keep them."""
        response = super().finalize_response(request, response, *args, **kwargs)
        response.setdefault("Cache-Control", "private, no-cache")
        return response

    @property
    def caller(self) -> Caller:
        """Who calls."""
        return caller_of(self.request)

    def project(self) -> Project:
        """The project in the address, if it is the caller's."""
        return project_for(self.caller, self.kwargs["project_id"])

    def venue(self) -> Venue:
        """The venue in the address, if it is the caller's."""
        return venue_for(self.caller, self.kwargs["venue_id"])

    def parent_of(self, noun: Noun) -> Parent:
        """The project or venue in the address that the noun's records hang on."""
        return self.venue() if noun.parent == "venue" else self.project()


def record_response(values: Mapping[str, Any], status: int = 200, location: str | None = None) -> Response:
    """A record with its entity tag."""
    headers = {"ETag": etag_of(values["version"])}
    if location is not None:
        headers["Location"] = location
    return Response(values, status, headers=headers)


class UnknownAddress(Endpoint):
    """Anything under /api/ that is no address."""

    authentication_classes: ClassVar[list[Any]] = []
    permission_classes: ClassVar[list[Any]] = []

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """404 whatever the method."""
        raise UnknownAddressError("there is nothing at this address; /api/v1/docs/ lists what there is")
