"""Lists, forms, deletion and history of the records of every noun."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from frontend.editing.chronicle import changes_in_words
from frontend.editing.conflicts import conflict_page
from frontend.editing.deleting import deletion_page
from frontend.editing.listing import heading_of, list_page, row_of
from frontend.editing.page import form_page, show_faults, version_seen
from frontend.editing.places import Place, place_for
from frontend.editing.record_form import RecordForm
from frontend.editing.wording import sentence, title_of, whole_number
from frontend.views.page import page
from showplan.records.base import Record
from showplan.services.errors import InvalidInput, StaleWrite, StillInUse
from showplan.services.history_reading import MOST_CHANGES, changes_of_record
from showplan.services.record_writing import Update, create_record, delete_record, get_record, update_record


@page
def listing(request: HttpRequest, kind: str, parent_id: UUID, path: str) -> HttpResponse:
    """All records of a kind, or those that the filters leave; `after` continues a long list."""
    place = place_for(request, kind, parent_id, path)
    context = {**list_page(place, request.GET), "heading": heading_of(place.noun)}
    part = "_rows.html" if request.htmx and "after" in request.GET else "list.html"
    return render(request, f"frontend/editing/{part}", context)


@form_page
def new(request: HttpRequest, kind: str, parent_id: UUID, path: str) -> HttpResponse:
    """A new record."""
    place = place_for(request, kind, parent_id, path, to_edit=True)
    form = RecordForm(place, data=request.POST or None, start=request.GET.dict())
    if request.method == "POST" and form.is_valid():
        try:
            record = create_record(place.caller, place.noun, place.parent, form.values())
        except InvalidInput as error:
            show_faults(form, error)
        else:
            messages.success(request, f"{sentence(f'{place.noun.singular} {title_of(record)} is saved')}")
            return redirect(place.address("new" if "another" in request.POST else "list"))
    return _form_page(request, place, form)


@form_page
def edit(request: HttpRequest, kind: str, parent_id: UUID, path: str, record_id: UUID) -> HttpResponse:
    """Change a record; the form carries the version it showed."""
    place = place_for(request, kind, parent_id, path, to_edit=True)
    record = get_record(place.noun, place.parent, record_id)
    form = RecordForm(place, record, data=request.POST or None)
    if request.method != "POST" or not form.is_valid():
        return _form_page(request, place, form, record)
    if not form.changed_values():
        return _after_change(request, place, record, "nothing was changed")
    try:
        written = _write(place, record_id, form)
    except InvalidInput as error:
        show_faults(form, error)
        return _form_page(request, place, form, record)
    except StaleWrite:
        fresh = get_record(place.noun, place.parent, record_id)
        again = RecordForm(place, fresh, data=request.POST)
        again.is_valid()
        addresses = {"edit_address": place.address("edit", record_id), "back_address": place.address()}
        return conflict_page(request, place.project, fresh, again, {**place.context(), **addresses})
    return _after_change(request, place, written, f"{place.noun.singular} {title_of(written)} is saved")


@form_page
def delete(request: HttpRequest, kind: str, parent_id: UUID, path: str, record_id: UUID) -> HttpResponse:
    """Say what else goes, then delete."""
    place = place_for(request, kind, parent_id, path, to_edit=True)
    record = get_record(place.noun, place.parent, record_id)
    fault = ""
    if request.method == "POST":
        try:
            delete_record(place.caller, place.noun, place.parent, record_id, version_seen(request))
        except (StaleWrite, StillInUse) as error:
            fault = sentence(error)
        else:
            if request.htmx:
                return HttpResponse("")
            messages.success(request, sentence(f"{place.noun.singular} {title_of(record)} is deleted"))
            return redirect(place.address())
    return _deletion(request, place, record, fault)


@page
def history(request: HttpRequest, kind: str, parent_id: UUID, path: str, record_id: UUID) -> HttpResponse:
    """Who changed the record, when, from which value to which."""
    place = place_for(request, kind, parent_id, path)
    record = get_record(place.noun, place.parent, record_id)
    below = request.GET.get("below", "")
    found = changes_of_record(place.project, record_id, below=whole_number(below))
    context = {
        **place.context(),
        "title": title_of(record),
        "changes": changes_in_words(place.project, found),
        "more": found[-1].pk if len(found) == MOST_CHANGES else None,
    }
    return render(request, "frontend/editing/record-history.html", context)


def _write(place: Place, record_id: UUID, form: RecordForm) -> Record:
    update = Update(record_id, form.changed_values(), form.based_on or 0)
    return update_record(place.caller, place.noun, place.parent, update)


def _after_change(request: HttpRequest, place: Place, record: Record, words: str) -> HttpResponse:
    if request.htmx:
        fresh = get_record(place.noun, place.parent, record.pk)
        context = {**place.context(), "row": row_of(place, fresh), "just_changed": True}
        return render(request, "frontend/editing/_row.html", context)
    messages.success(request, sentence(words))
    return redirect(place.address())


def _form_page(request: HttpRequest, place: Place, form: RecordForm, record: Record | None = None) -> HttpResponse:
    context: dict[str, Any] = {**place.context(), "form": form, "record": record}
    if record is not None:
        context |= {"title": title_of(record), "row": row_of(place, record)}
    context["column_count"] = len(context["row"]["cells"]) + 2 if record is not None else 0
    part = "_form_row.html" if request.htmx and record is not None else "form.html"
    return render(request, f"frontend/editing/{part}", context)


def _deletion(request: HttpRequest, place: Place, record: Record, fault: str) -> HttpResponse:
    context = {**place.context(), **deletion_page(record), "title": title_of(record), "row": row_of(place, record)}
    if fault:
        context["fault"] = fault
    context["column_count"] = len(context["row"]["cells"]) + 2
    part = "_delete_row.html" if request.htmx else "delete.html"
    return render(request, f"frontend/editing/{part}", context)
