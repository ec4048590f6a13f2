"""The history of a project."""

from reprlib import repr as brief
from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.fields import StrictIntegerField
from api.filters import refuse_unknown_parameters
from api.paging import page_of
from api.problems import bad_parameter
from api.repeats import once
from api.serializers import StrictSerializer
from api.views.base import Endpoint
from showplan.records.models import Project
from showplan.services.history import changes_of, undo_revision
from showplan.services.rights import refuse_unless_editor

NAMES = (
    "id",
    "revision",
    "at",
    "actor_name",
    "via",
    "action",
    "record_kind",
    "record_id",
    "record_name",
    "venue",
    "venue_name",
    "venue_revision",
    "before",
    "after",
)


class UndoSerializer(StrictSerializer):
    """Which revision to take back."""

    revision = StrictIntegerField(min_value=1, max_value=2**31 - 1)


class Changes(Endpoint):
    """Who changed what, when, from which value to which."""

    schema_tag = "history"
    own_parameters = True

    def get(self, request: Request, project_id: UUID) -> Response:
        """A page of changes, oldest first; narrow by record or revision."""
        refuse_unknown_parameters(request, ("limit", "after", "record_id", "revision"))
        changes = changes_of(self.project())
        if "record_id" in request.query_params:
            changes = changes.filter(record_id=_uuid(request.query_params["record_id"]))
        if "revision" in request.query_params:
            text = request.query_params["revision"]
            if not (text.isascii() and text.isdigit() and len(text) < 10):
                raise bad_parameter("revision", f"must be a whole number, not {brief(text)}")
            changes = changes.filter(revision=int(text))
        return Response(page_of(request, changes, NAMES, "revision"))


class Undo(Endpoint):
    """Taking a revision back."""

    schema_tag = "history"

    def post(self, request: Request, project_id: UUID) -> Response:
        """Undo one revision, as a new revision; 409 where a record was changed again since."""
        project = self.project()
        refuse_unless_editor(self.caller, project)
        return once(request, lambda: self._undo(request.data, project))

    def _undo(self, data: Any, project: Project) -> Response:
        given = UndoSerializer(data=data)
        given.is_valid(raise_exception=True)
        undone = undo_revision(self.caller, project, given.validated_data["revision"])
        return Response({"revision": undone.revision})


def _uuid(text: str) -> UUID:
    try:
        return serializers.UUIDField().to_internal_value(text)
    except serializers.ValidationError:
        raise bad_parameter("record_id", f"must be an identifier (UUID), not {brief(text)}") from None
