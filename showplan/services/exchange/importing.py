"""Making projects and venues from documents: all or nothing, with every fault named."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from showplan.planner.faults import Fault
from showplan.records.models import Project, Venue
from showplan.services import validation
from showplan.services.editing import Actor, Edit, edit
from showplan.services.errors import FieldFault, InvalidDocument, InvalidInput
from showplan.services.exchange.documents import PROJECT_FORMAT, VENUE_FORMAT, opened
from showplan.services.exchange.forms import KIT, ON_VENUE, VENUES, list_name
from showplan.services.exchange.reading import Located, Reader
from showplan.services.exchange.values import ValueFault, read_value
from showplan.services.nouns import NOUNS
from showplan.services.projects import start_project
from showplan.services.rights import Caller, refuse_unless_editor
from showplan.services.snapshots import edited_fields

ENVELOPE = ("format", "format_version")
VENUE_LISTS = tuple(list_name(noun) for noun in ON_VENUE)


def import_project(caller: Caller, document: Any, *, name: str | None = None) -> Project:
    """A new project of the caller's from a document; `name` stands for the one in it.

    Raises NotAllowed, InvalidDocument, and InvalidInput where `name` itself is no name.
    """
    caller.refuse_without("write")
    given = opened(document, PROJECT_FORMAT, "project")
    reader = Reader()
    facts = _project_facts(reader, given, name)
    for noun in KIT:
        reader.read_list(noun, given.get(list_name(noun), []), f"/{list_name(noun)}")
    _read_venues(reader, given.get("venues", []))
    reader.refuse_faults()
    with transaction.atomic():
        project = start_project(caller, **facts)
        with edit(project, caller.actor()) as change:
            _write(change, project, reader)
    return project


def import_venue(caller: Caller, project: Project, document: Any, *, name: str | None = None) -> Venue:
    """A new venue in a project that the caller edits. Raises NotFound, NotAllowed, InvalidDocument, InvalidInput."""
    refuse_unless_editor(caller, project)
    return add_venue(project, caller.actor(), document, name=name)


def add_venue(project: Project, actor: Actor, document: Any, *, name: str | None = None) -> Venue:
    """The same without a look at anybody's rights; for the command line.

    Nodes and node types are found in the project by their names. Raises InvalidDocument, InvalidInput.
    """
    row = dict(opened(document, VENUE_FORMAT, "venue")["venue"])
    if name is not None:
        row["name"] = _checked_name(Venue, name)
    reader = Reader()
    reader.refuse_unknown("", document, (*ENVELOPE, "venue"), "a venue document")
    with edit(project, actor) as change:
        for noun in {target for one in ON_VENUE for target in one.targets.values() if target.parent == "project"}:
            reader.know(noun, noun.loaded(project))
        venue = _read_venue(reader, row, "/venue")
        if venue is not None and project.venues.filter(name=venue.name).exists():
            message = f"the project has a venue {venue.name!r} already: import this one under another name"
            reader.faults.append(Fault("/venue/name", message))
        reader.refuse_faults()
        _write(change, project, reader)
    assert venue is not None
    return venue


def _project_facts(reader: Reader, given: Mapping[str, Any], name: str | None) -> dict[str, Any]:
    lists = (*(list_name(noun) for noun in KIT), "venues")
    reader.refuse_unknown("", given, (*ENVELOPE, "project", *lists), "a project document")
    row, fields = dict(given["project"]), edited_fields(Project)
    if name is not None:
        row["name"] = _checked_name(Project, name)
    reader.refuse_unknown("/project", row, [field.name for field in fields], "a project")
    return reader.read_fields(fields, row, "/project")


def _checked_name(model: type[Project | Venue], name: str) -> str:
    """A name that was given beside the document. Raises InvalidInput: the document is not at fault."""
    try:
        return str(read_value(model._meta.get_field("name"), name))
    except ValueFault as fault:
        raise InvalidInput([FieldFault("name", str(fault))]) from fault


def _read_venues(reader: Reader, rows: Any) -> None:
    if not isinstance(rows, list):
        reader.read_list(VENUES, rows, "/venues")  # says so
        return
    for index, row in enumerate(rows):
        _read_venue(reader, row, f"/venues/{index}")


def _read_venue(reader: Reader, row: Any, pointer: str) -> Venue | None:
    """A venue and its lists; one with faults of its own, then None, still has its lists looked at."""
    venue = reader.read_record(VENUES, row, pointer, besides=VENUE_LISTS)
    assert venue is None or isinstance(venue, Venue)
    reader.forget(ON_VENUE)
    for noun in ON_VENUE if isinstance(row, Mapping) else ():
        rows = row.get(list_name(noun), [])
        reader.read_list(noun, rows, f"{pointer}/{list_name(noun)}", venue or Venue())
    return venue


def _write(change: Edit, project: Project, reader: Reader) -> None:
    """All records, kind by kind. Raises InvalidDocument with the faults of every kind, so that none stays written."""
    faults: list[Fault] = []
    everything = [one.record for located in reader.found.values() for one in located]
    for noun in NOUNS:
        located = reader.found.get(noun.path, [])
        records = [one.record for one in located]
        if noun.parent == "project":
            for record in records:
                noun.adopt(record, project)
        if not records:
            continue
        try:
            if faults:  # nothing will be kept: look at the rest, so that it is told as well
                validation.refuse_invalid(records, beside=everything)
            else:
                change.create(records)
        except InvalidInput as error:
            faults += [_located(fault, located) for fault in error.faults]
    if faults:
        raise InvalidDocument(faults)


def _located(fault: FieldFault, located: list[Located]) -> Fault:
    if fault.row is None and len(located) > 1:  # the database refused, and does not say which row
        return Fault(located[0].pointer.rpartition("/")[0], fault.message)
    pointer = located[fault.row or 0].pointer
    return Fault(f"{pointer}/{fault.field}" if fault.field else pointer, fault.message)
