"""Reading rows of a document into records that are not yet written, with every fault and its JSON pointer."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import models

from showplan.planner.faults import Fault
from showplan.records.base import Record
from showplan.services.errors import InvalidDocument
from showplan.services.exchange.forms import is_named, is_named_on_level, is_required, list_name, name_of
from showplan.services.exchange.values import ValueFault, read_value, shown
from showplan.services.nouns import Noun
from showplan.services.record_writing import Parent

MOST_ROWS = 10_000
Key = tuple[str, str]  # (level, name); no level for what is named in its venue or project


@dataclass(frozen=True)
class Located:
    """A record and the place in the document that it comes from."""

    record: Record
    pointer: str


class Reader:
    """Collects records and faults; names are looked up among what was read, or made known, before."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []
        self.found: dict[str, list[Located]] = {}
        self._known: dict[str, dict[Key, Record | None]] = {}
        self._unreadable: set[str] = set()  # kinds of which not every name could be read

    def know(self, noun: Noun, records: Iterable[Record]) -> None:
        """Records that are there already and may be named."""
        self._known[noun.path] = {("", name_of(record)): record for record in records}

    def refuse_faults(self) -> None:
        """Raises InvalidDocument if anything was wrong so far."""
        if self.faults:
            raise InvalidDocument(self.faults)

    def refuse_unknown(self, pointer: str, names: Iterable[str], known: Sequence[str], what: str) -> None:
        """A fault for each name that is not known."""
        for name in names:
            if name not in known:
                self._fault(f"{pointer}/{_step(name)}", f"is no field of {what}; known: {', '.join(known)}")

    def read_list(self, noun: Noun, rows: Any, pointer: str, parent: Parent | None = None) -> None:
        """All records of a noun; with a parent they are tied to it."""
        if not isinstance(rows, list):
            self._fault(pointer, f"must be a list, not {shown(rows)}")
            self._unreadable.add(noun.path)
        elif len(rows) > MOST_ROWS:
            self._fault(pointer, f"holds {len(rows)} entries; at most {MOST_ROWS} are read")
            self._unreadable.add(noun.path)
        else:
            for index, row in enumerate(rows):
                self.read_record(noun, row, f"{pointer}/{index}", parent)

    def read_record(
        self, noun: Noun, row: Any, pointer: str, parent: Parent | None = None, besides: Sequence[str] = ()
    ) -> Record | None:
        """One record, or None where something is wrong with it; `besides` are members that others read."""
        if not isinstance(row, Mapping):
            self._fault(pointer, f"must be an object, not {shown(row)}")
            self._unreadable.add(noun.path)
            return None
        before = len(self.faults)
        known = [*(field.name for field in noun.fields), *besides]
        self.refuse_unknown(pointer, row, known, f"a {noun.singular}")
        values = self.read_fields(noun.fields, row, pointer, noun)
        record = None
        if len(self.faults) == before and None not in (values.get(name) for name in _must_refer(noun)):
            record = noun.model(**values)
            if parent is not None:
                noun.adopt(record, parent)
            self.found.setdefault(noun.path, []).append(Located(record, pointer))
        self._remember(noun, row, record, pointer)
        return record

    def read_fields(
        self, fields: "Sequence[models.Field[Any, Any]]", row: Mapping[str, Any], pointer: str, noun: Noun | None = None
    ) -> dict[str, Any]:
        """The values of the fields that stand in the row; faults for the wrong and the missing ones."""
        values: dict[str, Any] = {}
        for field in fields:
            here = f"{pointer}/{field.name}"
            if field.name not in row:
                if is_required(field):
                    self._fault(here, "is missing")
                continue
            if noun is not None and field.name in noun.targets:
                values[field.name] = self._referred(field, noun.targets[field.name], row, here)
                continue
            try:
                values[field.name] = read_value(field, row[field.name])
            except ValueFault as fault:
                self._fault(here, str(fault))
        return values

    def _referred(
        self, field: "models.Field[Any, Any]", target: Noun, row: Mapping[str, Any], pointer: str
    ) -> Record | None:
        """The record that a row names; None where it names none, or one that has faults of its own."""
        name = row[field.name]
        if name is None and field.null:
            return None
        if not isinstance(name, str):
            self._fault(pointer, f"must be the name of a {target.singular}, not {shown(name)}")
            return None
        level = row.get("level") if is_named_on_level(target) else ""
        if not isinstance(level, str):
            return None  # the level has its own fault
        known = self._known.get(target.path, {})
        if (level, name) in known or target.path in self._unreadable:
            return known.get((level, name))
        where = f" on level {shown(level)}" if level else ""
        self._fault(pointer, f"there is no {target.singular} {shown(name)}{where}")
        return None

    def _remember(self, noun: Noun, row: Mapping[str, Any], record: Record | None, pointer: str) -> None:
        """Let later rows name this one; one with faults too, so that they are told once."""
        key = noun.model.natural_key
        name, level = row.get(key), row.get("level") if is_named_on_level(noun) else ""
        if not is_named(noun) or not isinstance(name, str) or not isinstance(level, str):
            return
        names = self._known.setdefault(noun.path, {})
        if (level, name) in names:
            where = f" for level {shown(level)}" if level else ""
            self._fault(f"{pointer}/{key}", f"{shown(name)} stands twice in {list_name(noun)}{where}; keep one")
        names.setdefault((level, name), record)

    def forget(self, nouns: Iterable[Noun]) -> None:
        """Let go of names that count within one venue only."""
        for noun in nouns:
            self._known.pop(noun.path, None)
            self._unreadable.discard(noun.path)

    def _fault(self, pointer: str, message: str) -> None:
        self.faults.append(Fault(pointer, message))


def _must_refer(noun: Noun) -> list[str]:
    return [field.name for field in noun.references if not field.null]


def _step(name: str) -> str:
    """A name as a step of a JSON pointer (RFC 6901), free of characters that cannot be sent."""
    sendable = name.encode("utf-8", "replace").decode()
    return sendable[:80].replace("~", "~0").replace("/", "~1")
