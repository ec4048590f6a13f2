"""Collections and single records of every noun."""

from typing import Any, ClassVar
from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import filtered, refuse_unknown_parameters
from api.paging import page_of
from api.problems import Problem
from api.references import References
from api.repeats import once
from api.representation import as_values, chosen_names, names_of, rows
from api.serializers import serializer_for
from api.versions import etag_of, not_modified, version_seen
from api.views.base import Endpoint, Parent, record_response
from showplan.services.errors import StaleWrite
from showplan.services.nouns import Noun
from showplan.services.record_writing import Update, create_record, delete_record, project_of, update_record
from showplan.services.rights import one_of, refuse_unless_editor

REVISION_HEADER = "Showplan-Revision"


class NounEndpoint(Endpoint):
    """An endpoint of one noun; `for_noun` makes the class."""

    noun: ClassVar[Noun]
    own_parameters = True

    @classmethod
    def for_noun(cls, noun: Noun) -> type["NounEndpoint"]:
        """The class of this endpoint for a noun, named after it."""
        return type(f"{noun.model.__name__}{cls.__name__}", (cls,), {"noun": noun, "schema_tag": noun.path})

    def read_values(self, parent: Parent, data: Any, *, partial: bool = False) -> dict[str, Any]:
        """Checked values of one record from a JSON object."""
        references = References(self.noun.targets, parent, [data])
        serializer = serializer_for(self.noun)(data=data, partial=partial, context={"references": references})
        serializer.is_valid(raise_exception=True)
        return dict(serializer.validated_data)


class Collection(NounEndpoint):
    """All records of one kind in a project or venue."""

    def get(self, request: Request, **_: Any) -> Response:
        """A page of records."""
        names = chosen_names(self.noun, request.query_params.get("fields"))
        records = filtered(request, self.noun, self.noun.within(self.parent_of(self.noun)))
        return Response(page_of(request, records, names, self.noun.sort))

    def post(self, request: Request, **_: Any) -> Response:
        """A new record."""
        parent = self.parent_of(self.noun)
        return once(request, lambda: self._create(request, parent))

    def _create(self, request: Request, parent: Parent) -> Response:
        refuse_unless_editor(self.caller, project_of(parent))
        record = create_record(self.caller, self.noun, parent, self.read_values(parent, request.data))
        address = request.build_absolute_uri(f"{request.path}{record.pk}/")
        return _at_revision(record_response(as_values(record, names_of(self.noun)), 201, address), parent)


class Single(NounEndpoint):
    """One record."""

    def get(self, request: Request, record_id: UUID, **_: Any) -> Response:
        """The record, or 304 where If-None-Match has its version."""
        refuse_unknown_parameters(request, ("fields",))
        names = chosen_names(self.noun, request.query_params.get("fields"))
        values = self._values(self.parent_of(self.noun), record_id, names)
        etag = etag_of(values["version"])
        if not_modified(request, etag):
            return Response(status=304, headers={"ETag": etag})
        return record_response(values)

    def patch(self, request: Request, record_id: UUID, **_: Any) -> Response:
        """Change the fields that are named; null clears one. Needs If-Match."""
        parent = self.parent_of(self.noun)
        refuse_unless_editor(self.caller, project_of(parent))
        seen = version_seen(request)
        try:
            values = self.read_values(parent, request.data, partial=True)
            record = update_record(self.caller, self.noun, parent, Update(record_id, values, seen))
        except StaleWrite as error:
            raise self._stale(parent, record_id, error) from error
        return _at_revision(record_response(as_values(record, names_of(self.noun))), parent)

    def delete(self, request: Request, record_id: UUID, **_: Any) -> Response:
        """Delete the record and what hangs on it. Needs If-Match."""
        parent = self.parent_of(self.noun)
        refuse_unless_editor(self.caller, project_of(parent))
        seen = version_seen(request)
        try:
            delete_record(self.caller, self.noun, parent, record_id, seen)
        except StaleWrite as error:
            raise self._stale(parent, record_id, error) from error
        return _at_revision(Response(status=204), parent)

    def _values(self, parent: Parent, record_id: UUID, names: tuple[str, ...]) -> Any:
        found = rows(self.noun.within(parent).filter(pk=record_id), names)
        return found[0] if found else one_of(self.noun.within(parent), record_id, self.noun.singular)

    def _stale(self, parent: Parent, record_id: UUID, error: StaleWrite) -> Problem:
        """412 with the record as it is now, so that the caller can choose."""
        current = self._values(parent, record_id, names_of(self.noun))
        return Problem(412, "stale-write", str(error), current=current)


def _at_revision(response: Response, parent: Parent) -> Response:
    """The answer to a write says which revision of the project it made: what undo takes.

    A write that changed nothing makes none; the header then names the revision that stands.
    """
    response[REVISION_HEADER] = str(project_of(parent).revision)
    return response
