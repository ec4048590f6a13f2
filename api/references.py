"""The records that the rows of a call refer to, looked up with one query for each field."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from showplan.services.nouns import Noun
from showplan.services.record_writing import Parent, project_of


class References:
    """Every record named by a reference field in some rows, within the parent's project or venue.

    `targets` says for each field which kind of record it points to.
    """

    def __init__(self, targets: Mapping[str, Noun], parent: Parent, rows: Iterable[Any]) -> None:
        self._found: dict[str, dict[UUID, Any]] = {}
        rows = [row for row in rows if isinstance(row, Mapping)]
        for name, target in targets.items():
            keys = {key for row in rows if (key := _as_uuid(row.get(name))) is not None}
            self._found[name] = _look_up(target, parent, keys) if keys else {}

    def find(self, field_name: str, key: UUID) -> Any:
        """The record, or None."""
        return self._found[field_name].get(key)


def _look_up(target: Noun, parent: Parent, keys: set[UUID]) -> dict[UUID, Any]:
    owner = parent if target.parent == "venue" else project_of(parent)
    found = {record.pk: record for record in target.loaded(owner).filter(pk__in=keys)}
    for record in found.values():
        target.adopt(record, owner)
    return found


def _as_uuid(value: Any) -> UUID | None:
    if not isinstance(value, str):
        return None
    try:
        return UUID(value)
    except ValueError:
        return None
