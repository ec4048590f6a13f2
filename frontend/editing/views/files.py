"""Files out and in: a project or venue as one document; nodes, loads, timelines and readings as tables."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import slugify

from frontend.editing.file_forms import DocumentForm, ReadingsForm, TableForm
from frontend.editing.page import caller_of, form_page, show_faults
from frontend.editing.places import sections
from frontend.editing.wording import sentence
from frontend.views.page import page
from showplan.records.models import Project
from showplan.services.errors import InvalidDocument, InvalidInput, InvalidTable, NotFound
from showplan.services.exchange import (
    READINGS,
    TABLE_NOUNS,
    TableReport,
    as_text,
    import_project,
    import_readings,
    import_table,
    import_venue,
    parse,
    project_document,
    table_of,
    venue_document,
)
from showplan.services.nouns import by_path
from showplan.services.rights import Caller, may_edit, project_for, refuse_unless_editor, venue_for

MOST_FAULTS = 50
JSON, CSV = "application/json", "text/csv; charset=utf-8"


@form_page
def files(request: HttpRequest, project_id: UUID) -> HttpResponse:
    """What can be taken out of a project, and forms that read a venue or a table into it."""
    caller = caller_of(request)
    project = project_for(caller, project_id)
    venue_form, table_form = DocumentForm(prefix="venue"), TableForm(prefix="table")
    readings_form = ReadingsForm(project, prefix="readings")
    outcome: dict[str, Any] = {}
    if request.method == "POST":
        refuse_unless_editor(caller, project)
        if "read-venue" in request.POST:
            venue_form = DocumentForm(request.POST, request.FILES, prefix="venue")
            outcome = _read_venue(caller, project, venue_form)
        elif "read-readings" in request.POST:
            readings_form = ReadingsForm(project, request.POST, request.FILES, prefix="readings")
            outcome = _read_readings(caller, readings_form)
        else:
            table_form = TableForm(request.POST, request.FILES, prefix="table")
            outcome = _read_table(caller, project, table_form)
        if outcome.get("told"):
            messages.success(request, outcome["told"])
            return redirect("files", project_id=project.pk)
    context = {
        **sections(project),
        "here": "files",
        "may_edit": may_edit(caller, project),
        "venues": project.venues.all(),
        "tables": TABLE_NOUNS,
        "venue_form": venue_form,
        "table_form": table_form,
        "readings_form": readings_form,
        **outcome,
    }
    return render(request, "frontend/editing/files.html", context, status=409 if outcome.get("faults") else 200)


@form_page
def read_project(request: HttpRequest) -> HttpResponse:
    """A new project from an exported document."""
    form = DocumentForm(request.POST or None, request.FILES or None)
    faults: list[str] = []
    if request.method == "POST" and form.is_valid():
        try:
            document = parse(form.cleaned_data["file"].read())
            made = import_project(caller_of(request), document, name=form.cleaned_data["name"] or None)
        except InvalidDocument as error:
            faults = _listed(error)
        except InvalidInput as error:
            show_faults(form, error)
        else:
            messages.success(request, sentence(f"{made.name} was read in as a new project"))
            return redirect("project", project_id=made.pk)
    context = {"form": form, "faults": faults}
    return render(request, "frontend/editing/project-read.html", context, status=409 if faults else 200)


@page
def project_file(request: HttpRequest, project_id: UUID) -> HttpResponse:
    """The project as one JSON document."""
    project = project_for(caller_of(request), project_id)
    return _download(as_text(project_document(project)), project.name, "json", JSON)


@page
def venue_file(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """The venue as one JSON document."""
    venue = venue_for(caller_of(request), venue_id)
    return _download(as_text(venue_document(venue)), f"{venue.project.name} {venue.name}", "json", JSON)


@page
def table_file(request: HttpRequest, project_id: UUID, table: str) -> HttpResponse:
    """The nodes, loads or timelines of a project as CSV."""
    project = project_for(caller_of(request), project_id)
    noun = next((one for one in TABLE_NOUNS if one.path == table), None)
    if noun is None:
        raise NotFound(f"there is no table of {table}; there is: {', '.join(one.path for one in TABLE_NOUNS)}")
    return _download(table_of(noun, project), f"{project.name} {table}", "csv", CSV)


@page
def readings_file(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """The walk-test readings of a venue as CSV."""
    venue = venue_for(caller_of(request), venue_id)
    return _download(table_of(READINGS, venue), f"{venue.project.name} {venue.name} readings", "csv", CSV)


def _read_venue(caller: Caller, project: Project, form: DocumentForm) -> dict[str, Any]:
    if not form.is_valid():
        return {}
    try:
        document = parse(form.cleaned_data["file"].read())
        venue = import_venue(caller, project, document, name=form.cleaned_data["name"] or None)
    except InvalidDocument as error:
        return {"faults": _listed(error)}
    except InvalidInput as error:
        show_faults(form, error)
        return {}
    return {"told": sentence(f"venue {venue.name} was read in")}


def _read_table(caller: Caller, project: Project, form: TableForm) -> dict[str, Any]:
    if not form.is_valid():
        return {}
    noun, dry_run = by_path()[form.cleaned_data["kind"]], form.cleaned_data["dry_run"]
    try:
        report = import_table(caller, noun, project, form.cleaned_data["file"].read(), dry_run=dry_run)
    except InvalidTable as error:
        return {"faults": _listed(error)}
    return _outcome(report, noun.plural)


def _read_readings(caller: Caller, form: ReadingsForm) -> dict[str, Any]:
    if not form.is_valid():
        return {}
    venue, text = form.cleaned_data["venue"], form.cleaned_data["file"].read()
    try:
        report = import_readings(caller, venue, text, dry_run=form.cleaned_data["dry_run"])
    except InvalidTable as error:
        return {"faults": _listed(error)}
    return _outcome(report, f"readings in {venue.name}")


def _outcome(report: TableReport, what: str) -> dict[str, Any]:
    counts = f"{report.count('create')} new, {report.count('update')} changed, {report.unchanged} the same"
    if report.dry_run:
        return {"would": f"Nothing is written yet. The table of {what} would give: {counts}."}
    return {"told": f"The table of {what} was read in: {counts}."}


def _listed(error: InvalidDocument | InvalidTable) -> list[str]:
    shown = [str(fault) for fault in error.faults[:MOST_FAULTS]]
    more = len(error.faults) - len(shown)
    return [*shown, f"and {more} more"] if more > 0 else shown


def _download(text: str, name: str, ending: str, content_type: str) -> HttpResponse:
    disposition = f'attachment; filename="{slugify(name) or "showplan"}.{ending}"'
    return HttpResponse(text, content_type=content_type, headers={"Content-Disposition": disposition})
