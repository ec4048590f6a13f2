"""Reading the rows of a bulk call: every fault of every row, each with its JSON pointer."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from reprlib import repr as brief
from typing import Any

from rest_framework import serializers

from api.fields import StrictCharField, StrictIntegerField, StrictUUIDField
from api.filters import parse_filter
from api.problems import Problem, escaped, faults_with_pointers, pointers_in
from api.references import References
from api.serializers import StrictSerializer, serializer_for
from showplan.services.errors import FieldFault
from showplan.services.nouns import Noun
from showplan.services.record_writing import Parent, Update

MOST_ROWS = 1000


class Json(serializers.Field[Any, Any, Any, Any]):
    """An object that is read later, by the noun's own serializer."""

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        """The object as it came."""
        if not isinstance(data, Mapping):
            raise serializers.ValidationError("must be an object")
        return dict(data)

    def to_representation(self, value: Any) -> Any:
        """As it is."""
        return value


class UpdateRow(StrictSerializer):
    """One record: fields in `set` are set, those named in `clear` emptied, all others kept."""

    id = StrictUUIDField()
    version = StrictIntegerField(min_value=1, max_value=2**31 - 1, help_text="the version you saw")
    set = Json(required=False)
    clear = serializers.ListField(child=StrictCharField(), required=False, max_length=50)


class UpdateWhere(StrictSerializer):
    """The same for every record that the filter finds when the call is carried out."""

    filter = serializers.DictField(child=StrictCharField())
    set = Json(required=False)
    clear = serializers.ListField(child=StrictCharField(), required=False, max_length=50)


class BulkRequest(StrictSerializer):
    """New records, changes by identifier, and changes to all that a filter finds; at least one of the three."""

    create = serializers.ListField(child=Json(), required=False, max_length=MOST_ROWS)
    update = serializers.ListField(child=UpdateRow(), required=False, max_length=MOST_ROWS)
    update_where = UpdateWhere(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Refuse an empty call."""
        if not attrs:
            raise serializers.ValidationError("give create, update or update_where")
        return attrs


class Refused(Exception):
    """Rows that cannot be read: the entries of `errors`."""

    def __init__(self, errors: list[dict[str, str]]) -> None:
        self.errors = errors
        super().__init__()


@dataclass(frozen=True)
class Rows:
    """The checked rows of a call; `updates` are those by identifier, then those that the filter found."""

    creates: list[dict[str, Any]]
    updates: list[Update]
    by_identifier: int

    def errors_of(self, faults: Iterable[FieldFault]) -> list[dict[str, str]]:
        """The entries of `errors` for faults that the write found; each once, however many records the filter found."""
        found: dict[tuple[str, str], None] = {}
        for fault in faults:
            for entry in self._entries(fault):
                found[entry["pointer"], entry["detail"]] = None
        return [{"pointer": pointer, "detail": detail} for pointer, detail in found]

    def _entries(self, fault: FieldFault) -> Iterator[dict[str, str]]:
        if fault.part != "update":
            return faults_with_pointers([fault], f"/{fault.part}")
        of_record = fault.field in ("", "id")
        if (fault.row or 0) < self.by_identifier:
            base = f"/update/{fault.row or 0}"
            return faults_with_pointers([replace(fault, row=None)], base if of_record else f"{base}/set")
        if of_record:
            return faults_with_pointers([replace(fault, row=None, field="")], "/update_where/filter")
        return faults_with_pointers([replace(fault, row=None)], "/update_where/set")


class Reading:
    """Reads the rows of one call for a noun in a parent; `errors` collects every fault with its JSON pointer."""

    def __init__(self, noun: Noun, parent: Parent) -> None:
        self.noun, self.parent = noun, parent
        self.errors: list[dict[str, str]] = []

    def rows(self, asked: Mapping[str, Any]) -> Rows:
        """All rows of a `BulkRequest`. Raises Refused."""
        new = asked.get("create", [])
        creates = self._values(new, [f"/create/{i}" for i in range(len(new))], partial=False)
        updates = self._updates(asked.get("update", []))
        found = self._found(asked["update_where"]) if "update_where" in asked else []
        if self.errors:
            raise Refused(self.errors)
        return Rows(creates, updates + found, len(updates))

    def _updates(self, rows: Sequence[Mapping[str, Any]]) -> list[Update]:
        wanted = [self._set_and_clear(row, f"/update/{i}") for i, row in enumerate(rows)]
        values = self._values(wanted, [f"/update/{i}/set" for i in range(len(rows))], partial=True)
        return [Update(row["id"], given, row["version"]) for row, given in zip(rows, values, strict=True)]

    def _found(self, where: Mapping[str, Any]) -> list[Update]:
        """The same change for every record that the filter finds now."""
        chosen = self._filter(where["filter"])
        [values] = self._values([self._set_and_clear(where, "/update_where")], ["/update_where/set"], partial=True)
        if self.errors:
            return []
        found = self.noun.within(self.parent).filter(**chosen).values_list("pk", "version")[: MOST_ROWS + 1]
        if len(found) > MOST_ROWS:
            self._fault("/update_where/filter", f"finds more than {MOST_ROWS} records; narrow it")
        return [Update(key, values, version) for key, version in found]

    def _filter(self, texts: Mapping[str, str]) -> dict[str, Any]:
        chosen = {}
        for name, text in texts.items():
            pointer = f"/update_where/filter/{escaped(name)}"
            if name not in self.noun.filters:
                self._fault(pointer, f"is no filter here; known: {', '.join(self.noun.filters) or 'none'}")
                continue
            try:
                chosen[name] = parse_filter(self.noun, name, text)
            except Problem as error:
                self._fault(pointer, error.members["errors"][0]["detail"])
        return chosen

    def _set_and_clear(self, row: Mapping[str, Any], pointer: str) -> dict[str, Any]:
        """`set` and `clear` as one object; a cleared field becomes null, or empty text where it has no null."""
        can = {field.name: field for field in self.noun.fields if field.null or field.blank}
        given = dict(row.get("set", {}))
        for index, name in enumerate(row.get("clear", [])):
            if name not in can:
                known = ", ".join(can) or "none"
                self._fault(f"{pointer}/clear/{index}", f"{brief(name)} cannot be cleared; can: {known}")
            elif name in given:
                self._fault(f"{pointer}/clear/{index}", f"{name!r} stands in set as well, or twice in clear")
            else:
                given[name] = None if can[name].null else ""
        return given

    def _values(
        self, rows: Sequence[Mapping[str, Any]], pointers: Sequence[str], *, partial: bool
    ) -> list[dict[str, Any]]:
        """The checked values of each row; empty for a row with faults."""
        references = References(self.noun.targets, self.parent, rows)
        values: list[dict[str, Any]] = []
        for row, pointer in zip(rows, pointers, strict=True):
            serializer = serializer_for(self.noun)(data=row, partial=partial, context={"references": references})
            valid = serializer.is_valid()
            values.append(dict(serializer.validated_data) if valid else {})
            self.errors += [] if valid else pointers_in(serializer.errors, pointer)
        return values

    def _fault(self, pointer: str, detail: str) -> None:
        self.errors.append({"pointer": pointer, "detail": detail})
