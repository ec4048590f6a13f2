"""What goes with a record: said before it is deleted."""

from collections import defaultdict
from typing import Any

from frontend.editing.wording import sentence, title_of
from frontend.present.words import counted
from showplan.records.base import Record
from showplan.services.deletion import toll_of_deleting
from showplan.services.errors import StillInUse

MOST_NAMED = 12


def deletion_page(record: Record) -> dict[str, Any]:
    """The record, what hangs on it, and what loses its reference; `is_refused` where others still need it."""
    try:
        toll = toll_of_deleting(record)
    except StillInUse as error:
        return {"record": record, "fault": sentence(error), "is_refused": True}
    return {
        "record": record,
        "lost": _by_kind([one for one in toll.deleted if one.pk != record.pk]),
        "loosened": _by_kind([one for one, _ in toll.loosened]),
    }


def _by_kind(records: list[Record]) -> list[dict[str, str]]:
    """'3 walls' with the names of the first ones, kind by kind."""
    kinds: dict[tuple[str, str], list[str]] = defaultdict(list)
    for one in records:
        kinds[one.noun(), str(one._meta.verbose_name_plural)].append(title_of(one))
    return [
        {"count": counted(len(names), *kind), "names": _first(sorted(names))} for kind, names in sorted(kinds.items())
    ]


def _first(names: list[str]) -> str:
    shown = ", ".join(names[:MOST_NAMED])
    return f"{shown} and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else shown
