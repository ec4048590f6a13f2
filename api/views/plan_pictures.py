"""The plan picture of a level: the one file of the API that is stored as it looks."""

from collections.abc import Mapping
from typing import IO, Any, ClassVar
from uuid import UUID

from django.http import HttpResponse
from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.problems import Problem
from api.representation import as_values, names_of
from api.versions import version_seen
from api.views.base import Endpoint, record_response
from api.views.records import REVISION_HEADER
from showplan.records.models import Level
from showplan.services.errors import StaleWrite
from showplan.services.nouns import by_path
from showplan.services.plan_pictures import level_for, remove_picture, set_picture, stored_picture
from showplan.services.rights import refuse_unless_editor

PICTURE = "image/*"


class PictureParser(BaseParser):
    """Reads any picture as bytes; what it really is, the service finds out."""

    media_type = PICTURE

    def parse(
        self, stream: IO[bytes], media_type: str | None = None, context: Mapping[str, Any] | None = None
    ) -> bytes:
        """The body as it is."""
        return stream.read()


class PictureRenderer(BaseRenderer):
    """Lets a caller ask for pictures only; refusals are JSON all the same."""

    media_type = PICTURE
    format = "picture"
    charset = None

    def render(self, data: Any, media_type: str | None = None, context: Mapping[str, Any] | None = None) -> bytes:
        """A problem document: pictures themselves do not pass here."""
        found: bytes = JSONRenderer().render(data)
        return found


class PlanPicture(Endpoint):
    """The plan picture of one level."""

    schema_tag = "levels"
    parser_classes: ClassVar[list[type[BaseParser]]] = [PictureParser]
    renderer_classes: ClassVar[list[type[BaseRenderer]]] = [JSONRenderer, PictureRenderer]

    def get(self, request: Request, venue_id: UUID, level_id: UUID) -> Any:
        """The picture as a PNG, JPEG or WebP file; 404 where the level has none."""
        picture = stored_picture(level_for(self.venue(), level_id))
        # A picture never changes under its name, and the name says nothing to others.
        headers = {"Content-Disposition": "inline", "X-Content-Type-Options": "nosniff"}
        return HttpResponse(picture.read(), content_type=picture.media_type, headers=headers)

    def put(self, request: Request, venue_id: UUID, level_id: UUID) -> Response:
        """Give the level this picture: PNG, JPEG or WebP, at most 8 MB and 40 million pixels.

        It is written again without metadata. A level without a scale gets the one at which the picture is as wide as
        the level; `plan_metres_per_pixel` of the level changes it. Needs If-Match with the level's version.
        """
        level = self._level(level_id)
        seen = version_seen(request)
        content = request.data if isinstance(request.data, bytes) else b""  # an empty body is no picture either
        try:
            return _answer(set_picture(self.caller, level, content, seen))
        except StaleWrite as error:
            raise self._stale(level_id, error) from error

    def delete(self, request: Request, venue_id: UUID, level_id: UUID) -> Response:
        """Take the picture away. The file stays for undo. Needs If-Match with the level's version."""
        level = self._level(level_id)
        try:
            return _answer(remove_picture(self.caller, level, version_seen(request)))
        except StaleWrite as error:
            raise self._stale(level_id, error) from error

    def _level(self, level_id: UUID) -> Level:
        venue = self.venue()
        refuse_unless_editor(self.caller, venue.project)
        return level_for(venue, level_id)

    def _stale(self, level_id: UUID, error: StaleWrite) -> Problem:
        return Problem(412, "stale-write", str(error), current=_values(level_for(self.venue(), level_id)))


def _values(level: Level) -> dict[str, Any]:
    return as_values(level, names_of(by_path()["levels"]))


def _answer(level: Level) -> Response:
    """The level as it is now; its version is the tag for the next write."""
    response = record_response(_values(level))
    response[REVISION_HEADER] = str(level.venue.project.revision)
    return response
