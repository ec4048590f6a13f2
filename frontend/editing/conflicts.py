"""Two people changed one record: three columns, and a choice."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from frontend.editing.chronicle import way_in_words
from frontend.editing.record_form import VersionedForm, as_filled_in
from frontend.editing.wording import label_of, moment, title_of, value_in_words
from showplan.records.base import Record
from showplan.records.models import Membership, Project
from showplan.services.history_reading import earlier_values, names_in
from showplan.services.snapshots import edited_fields, snapshot

CONFLICT = 409


def conflict_page(
    request: HttpRequest,
    project: Project,
    record: Record,
    form: VersionedForm,
    context: dict[str, Any],
) -> HttpResponse:
    """What `record` was when the writer started, what it is now, what they wrote.

    `context` holds what the frame of the page needs, and the addresses edit_address and back_address.
    """
    page = {
        **context,
        "project": project,
        "record_kind": "member" if isinstance(record, Membership) else record.noun(),
        "title": title_of(record),
        **compared(project, record, form),
        "form": form,
        "mine": _as_hidden(form, record.version),
    }
    if request.htmx:  # it swaps no refusal in; the choice takes the place of the whole page's content
        headers = {"HX-Retarget": "#main", "HX-Reselect": "#main", "HX-Reswap": "outerHTML"}
        return _rendered(request, page, 200, headers)
    return _rendered(request, page, CONFLICT, {})


def _rendered(request: HttpRequest, page: dict[str, Any], status: int, headers: dict[str, str]) -> HttpResponse:
    """The page with its choice."""
    response = render(request, "frontend/editing/conflict.html", page, status=status)
    for name, value in headers.items():
        response[name] = value
    return response


def compared(project: Project, record: Record, form: VersionedForm) -> dict[str, Any]:
    """The fields that differ in any two of the three states, in words, and who wrote the newest one."""
    theirs = snapshot(record)
    mine = snapshot(as_filled_in(record, form.changed_values()))
    start, since = earlier_values(project, record, form.based_on or record.version)
    names = names_in(project, [start, theirs, mine])
    rows = []
    for field in edited_fields(type(record)):
        states = [values.get(field.attname) for values in (start, theirs, mine)]
        if any(state != states[0] for state in states):
            words = [value_in_words(field, state, names) for state in states]
            rows.append({"label": label_of(field), "start": words[0], "theirs": words[1], "yours": words[2]})
    writers = [{"who": one.actor_name, "when": moment(one.at), "via": way_in_words(one.via)} for one in since]
    return {"rows": rows, "writers": writers}


def _as_hidden(form: VersionedForm, version: int) -> list[tuple[str, str]]:
    """Everything that was typed, to be sent again on top of the newest version."""
    typed = [
        (name, value) for name in form.fields if name != "version" for value in form.data.getlist(form.add_prefix(name))
    ]
    return [("version", str(version)), *typed]
