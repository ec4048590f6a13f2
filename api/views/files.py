"""Projects and venues as files; the kit, timelines and readings as CSV tables."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, ClassVar
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from django.utils.text import slugify
from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import TRUTH
from api.problems import bad_parameter
from api.repeats import once
from api.representation import as_values, names_of
from api.tables import CSV, CsvParser, CsvRenderer
from api.versions import not_modified
from api.views.base import Endpoint, record_response
from api.views.projects import NAMES
from showplan.services.errors import FieldFault, InvalidInput, NotAllowed
from showplan.services.exchange import (
    READINGS,
    TableReport,
    as_text,
    import_project,
    import_readings,
    import_table,
    import_venue,
    project_document,
    sha256_of,
    table_of,
    venue_document,
)
from showplan.services.nouns import Noun, by_path
from showplan.services.record_writing import Parent
from showplan.services.rights import refuse_unless_editor

CHECKSUM = "Showplan-SHA256"


class ProjectExport(Endpoint):
    """A project as a file."""

    schema_tag = "files"

    def get(self, request: Request, project_id: UUID) -> Any:
        """The project with its crews, kit and venues; no members, tokens, history or plan pictures."""
        project = self.project()
        return _document(request, project_document(project), project.name)


class VenueExport(Endpoint):
    """A venue as a file."""

    schema_tag = "files"

    def get(self, request: Request, venue_id: UUID) -> Any:
        """The venue with all that hangs on it, but plan pictures; the kit stands in it by its names."""
        venue = self.venue()
        return _document(request, venue_document(venue), f"{venue.project.name} {venue.name}")


class ProjectImport(Endpoint):
    """A project from a file."""

    schema_tag = "files"
    post_parameters = ("name",)

    def post(self, request: Request) -> Response:
        """Make a new project from an exported document, whole or not at all; the caller owns it."""
        if self.caller.token is not None and self.caller.token.project_id is not None:
            raise NotAllowed("this token is bound to one project; starting another needs one without a project")
        return once(request, lambda: self._make(request))

    def _make(self, request: Request) -> Response:
        with _other_name():
            project = import_project(self.caller, request.data, name=request.query_params.get("name"))
        address = reverse("api-projects-one", kwargs={"project_id": project.pk})
        return record_response(as_values(project, NAMES), 201, request.build_absolute_uri(address))


class VenueImport(Endpoint):
    """A venue from a file."""

    schema_tag = "files"
    post_parameters = ("name",)

    def post(self, request: Request, project_id: UUID) -> Response:
        """Make a new venue from an exported document, whole or not at all; its nodes must be in the project."""
        project = self.project()
        refuse_unless_editor(self.caller, project)
        return once(request, lambda: self._make(request))

    def _make(self, request: Request) -> Response:
        project = self.project()
        with _other_name():
            venue = import_venue(self.caller, project, request.data, name=request.query_params.get("name"))
        address = reverse("api-venues-one", kwargs={"project_id": project.pk, "record_id": venue.pk})
        values = as_values(venue, names_of(by_path()["venues"]))
        return record_response(values, 201, request.build_absolute_uri(address))


class Table(Endpoint):
    """What tables share: CSV in and out, the dry run, the report."""

    noun: ClassVar[Noun]
    schema_tag = "files"
    post_parameters = ("dry_run",)

    def get_renderers(self) -> list[BaseRenderer]:
        """A table for GET, JSON for the report of a POST."""
        return [CsvRenderer(), JSONRenderer()] if self.request.method in ("GET", "HEAD") else [JSONRenderer()]

    def get_parsers(self) -> list[BaseParser]:
        """Only CSV is read here."""
        return [CsvParser()]

    def answer(self, parent: Parent, name: str) -> Any:
        """The records of a project or venue as a file."""
        headers = _file_name(f"{name} {self.noun.plural}", "csv")
        return HttpResponse(table_of(self.noun, parent), content_type=f"{CSV}; charset=utf-8", headers=headers)

    def take(self, request: Request, read: Callable[[bytes, bool], TableReport]) -> Response:
        """Read the body, once for each Idempotency-Key, and say what became of its lines."""
        dry_run = _truth("dry_run", request.query_params.get("dry_run", "false"))

        def reported() -> Response:
            if not request.data:
                raise InvalidInput([FieldFault("", "the body is empty: send the table, its header line first")])
            return Response(_told(read(request.data, dry_run)))

        return once(request, reported)


class KitTable(Table):
    """The nodes, loads or timelines of a project as CSV; `for_noun` makes the class."""

    @classmethod
    def for_noun(cls, noun: Noun) -> type["KitTable"]:
        """The class of this endpoint for a noun, named after it."""
        return type(f"{noun.model.__name__}Table", (cls,), {"noun": noun})

    def get(self, request: Request, project_id: UUID) -> Any:
        """All of them, one line each, in order of label; other records stand in it by their names.

        A timeline has a line for each of its rows: `timeline`, `time_s`, `slot`, `level`.
        """
        project = self.project()
        return self.answer(project, project.name)

    def post(self, request: Request, project_id: UUID) -> Response:
        """Make what is new by its label and change what differs, all lines or none.

        A column that is absent is kept, an empty cell clears. The rows of a timeline in the table are replaced by
        those of the table; other timelines stay. With `dry_run=true` nothing is written and the answer
        says what would be.
        """
        refuse_unless_editor(self.caller, self.project())

        def read(text: bytes, dry_run: bool) -> TableReport:
            return import_table(self.caller, self.noun, self.project(), text, dry_run=dry_run)

        return self.take(request, read)


class ReadingTable(Table):
    """The walk-test readings of a venue as CSV."""

    noun = READINGS

    def get(self, request: Request, venue_id: UUID) -> Any:
        """All of them, one line each, in order of time; other records stand in it by their names."""
        venue = self.venue()
        return self.answer(venue, f"{venue.project.name} {venue.name}")

    def post(self, request: Request, venue_id: UUID) -> Response:
        """Make a reading of every line that is not there already, all lines or none.

        A line gives `level`, `x_m`, `y_m` and `height_m`, or in `at_node` the node at whose fixed point it was taken.
        A line equal to a reading that is there (transmitter, place, receiver type, time, values) counts as
        unchanged. With `dry_run=true` nothing is written and the answer says what would be.
        """
        refuse_unless_editor(self.caller, self.venue().project)

        def read(text: bytes, dry_run: bool) -> TableReport:
            return import_readings(self.caller, self.venue(), text, dry_run=dry_run)

        return self.take(request, read)


def _told(report: TableReport) -> dict[str, Any]:
    return {
        "dry_run": report.dry_run,
        "created": report.count("create"),
        "updated": report.count("update"),
        "unchanged": report.unchanged,
        "revision": report.revision,
        "rows": [
            {"line": row.line, "label": row.label, "action": row.action, "fields": list(row.fields)}
            for row in report.rows
        ],
    }


def _document(request: Request, document: dict[str, Any], name: str) -> Any:
    """The document as a file. Its tag follows from its content alone, and so does the file's every byte."""
    checksum = sha256_of(document)
    headers = {"ETag": f'"{checksum}"', CHECKSUM: checksum}
    if not_modified(request, headers["ETag"]):
        return Response(status=304, headers=headers)
    headers |= _file_name(name, "json")
    return HttpResponse(as_text(document), content_type="application/json", headers=headers)


@contextmanager
def _other_name() -> Iterator[None]:
    """The only input beside the document is the name it shall have: a query parameter."""
    try:
        yield
    except InvalidInput as error:
        raise bad_parameter("name", error.faults[0].message) from error


def _file_name(name: str, ending: str) -> dict[str, str]:
    return {"Content-Disposition": f'attachment; filename="{slugify(name) or "showplan"}.{ending}"'}


def _truth(name: str, text: str) -> bool:
    if text not in TRUTH:
        raise bad_parameter(name, f"must be true or false, not {text!r}")
    return TRUTH[text]
