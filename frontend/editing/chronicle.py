"""The history as a page shows it: who, when, and from which value to which."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.urls import reverse

from frontend.editing.wording import label_of, moment, value_in_words
from showplan.records.base import Record
from showplan.records.models import Change, Project
from showplan.services.history_reading import Revision, model_of, names_in
from showplan.services.snapshots import edited_fields

WAYS = {"page": "on the page", "command": "from the command line"}
# Said by the heading already.
LEFT_OUT = {"project_id", "venue_id"}


def revisions_in_words(project: Project, revisions: Iterable[Revision]) -> list[dict[str, Any]]:
    """Revisions with their changes in words."""
    revisions = list(revisions)
    names = _names(project, [change for one in revisions for change in one.changes])
    return [
        {
            "number": one.number,
            "when": moment(one.at),
            "who": one.actor_name,
            "via": way_in_words(one.via),
            "count": one.count,
            "hidden": one.count - len(one.changes),
            "changes": [change_in_words(change, names) for change in one.changes],
            "undo": reverse("undo", args=(project.pk, one.number)),
        }
        for one in revisions
    ]


def changes_in_words(project: Project, changes: list[Change]) -> list[dict[str, Any]]:
    """The changes of one record, each with the address that takes its revision back."""
    names = _names(project, changes)
    return [
        {
            **change_in_words(change, names),
            "when": moment(change.at),
            "who": change.actor_name,
            "via": way_in_words(change.via),
            "number": change.revision,
            "undo": reverse("undo", args=(project.pk, change.revision)),
        }
        for change in changes
    ]


def change_in_words(change: Change, names: Mapping[str, str]) -> dict[str, Any]:
    """One change: what happened to which record, field by field."""
    model = model_of(change)
    name = change.record_name if change.record_kind != "Reading" else ""
    return {
        "action": change.action,
        "kind": kind_in_words(change),
        "name": name,
        "venue": change.venue_name,
        "fields": fields_in_words(model, change.before, change.after, names) if model else [],
    }


def kind_in_words(change: Change) -> str:
    """'wall'; a membership is a member to people."""
    model = model_of(change)
    if change.record_kind == "Membership":
        return "member"
    return model.noun() if model else change.record_kind.lower()


def fields_in_words(
    model: type[Record], before: Mapping[str, Any], after: Mapping[str, Any], names: Mapping[str, str]
) -> list[dict[str, str]]:
    """Each field of a change with its value before and after; a side that has none is empty."""
    return [
        {
            "label": label_of(field),
            "before": value_in_words(field, before[field.attname], names) if field.attname in before else "",
            "after": value_in_words(field, after[field.attname], names) if field.attname in after else "",
        }
        for field in edited_fields(model)
        if field.attname not in LEFT_OUT and _says_something(before.get(field.attname), after.get(field.attname))
    ]


def way_in_words(via: str) -> str:
    """'on the page', 'by token nightly'."""
    return WAYS.get(via) or f"by {via}"


def _says_something(before: Any, after: Any) -> bool:
    return before not in (None, "") or after not in (None, "")


def _names(project: Project, changes: Iterable[Change]) -> dict[str, str]:
    return names_in(project, [values for change in changes for values in (change.before, change.after)])
