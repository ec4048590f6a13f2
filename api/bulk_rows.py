"""Reading the rows of a bulk call: every fault of every row, each with its JSON pointer."""

from collections.abc import Mapping, Sequence
from typing import Any

from rest_framework import serializers

from api.fields import StrictCharField, StrictIntegerField
from api.filters import parse_filter
from api.problems import Problem, pointers_in
from api.references import References
from api.serializers import StrictSerializer, serializer_for
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

    id = serializers.UUIDField()
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


def read_creates(noun: Noun, parent: Parent, rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Checked values of new records. Raises Refused."""
    return _read(noun, parent, rows, [f"/create/{i}" for i in range(len(rows))], partial=False)


def read_updates(noun: Noun, parent: Parent, rows: Sequence[Mapping[str, Any]]) -> list[Update]:
    """Checked changes by identifier. Raises Refused."""
    wanted = [_set_and_clear(noun, row, f"/update/{i}") for i, row in enumerate(rows)]
    values = _read(noun, parent, wanted, [f"/update/{i}/set" for i in range(len(rows))], partial=True)
    return [Update(row["id"], given, row["version"]) for row, given in zip(rows, values, strict=True)]


def read_where(noun: Noun, parent: Parent, where: Mapping[str, Any]) -> list[Update]:
    """The same change for every record that the filter finds now. Raises Refused."""
    unknown = [name for name in where["filter"] if name not in noun.filters]
    if unknown:
        known = ", ".join(noun.filters)
        raise Refused([{"pointer": f"/update_where/filter/{n}", "detail": f"known: {known}"} for n in unknown])
    try:
        chosen = {name: parse_filter(noun, name, text) for name, text in where["filter"].items()}
    except Problem as error:
        raise Refused([{"pointer": "/update_where/filter", "detail": str(error.detail)}]) from error
    given = _set_and_clear(noun, where, "/update_where")
    [values] = _read(noun, parent, [given], ["/update_where/set"], partial=True)
    found = noun.within(parent).filter(**chosen).values_list("pk", "version")[: MOST_ROWS + 1]
    if len(found) > MOST_ROWS:
        detail = f"finds more than {MOST_ROWS} records; narrow it"
        raise Refused([{"pointer": "/update_where/filter", "detail": detail}])
    return [Update(key, values, version) for key, version in found]


def _set_and_clear(noun: Noun, row: Mapping[str, Any], pointer: str) -> dict[str, Any]:
    """`set` and `clear` as one object; a cleared field becomes null, or empty text where it has no null."""
    fields = {field.name: field for field in noun.fields}
    given = dict(row.get("set", {}))
    errors = []
    for index, name in enumerate(row.get("clear", [])):
        field = fields.get(name)
        if field is None or not (field.null or field.blank):
            can = ", ".join(f.name for f in noun.fields if f.null or f.blank) or "none"
            errors.append({"pointer": f"{pointer}/clear/{index}", "detail": f"{name!r} cannot be cleared; can: {can}"})
        elif name in given:
            errors.append({"pointer": f"{pointer}/clear/{index}", "detail": f"{name!r} stands in set as well"})
        else:
            given[name] = None if field.null else ""
    if errors:
        raise Refused(errors)
    return given


def _read(
    noun: Noun, parent: Parent, rows: Sequence[Mapping[str, Any]], pointers: Sequence[str], *, partial: bool
) -> list[dict[str, Any]]:
    references = References(noun.targets, parent, rows)
    errors: list[dict[str, str]] = []
    values = []
    for row, pointer in zip(rows, pointers, strict=True):
        serializer = serializer_for(noun)(data=row, partial=partial, context={"references": references})
        if serializer.is_valid():
            values.append(dict(serializer.validated_data))
        else:
            errors += pointers_in(serializer.errors, pointer)
    if errors:
        raise Refused(errors)
    return values
