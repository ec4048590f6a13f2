"""Shapes of answers that are no records, for the API's description. They describe; the services make the values."""

from functools import cache
from typing import Any

from rest_framework import serializers as s

from api.bulk_rows import MOST_ROWS
from api.serializers import serializer_for
from api.views.tokens import TokenSerializer
from showplan.services.nouns import Noun

Shape = type[s.Serializer[Any]]


class Fault(s.Serializer[Any]):
    """One fault: where it is (a JSON pointer into the body, a query parameter, or a line and column of a table) and
    what would be right."""

    pointer = s.CharField(required=False, allow_blank=True)
    parameter = s.CharField(required=False, allow_blank=True)
    line = s.IntegerField(required=False)
    column = s.CharField(required=False)
    detail = s.CharField()


class FaultyRow(s.Serializer[Any]):
    """One row of a bulk write and the faults that are its own."""

    part = s.ChoiceField(choices=["create", "update"])
    row = s.IntegerField()
    errors = Fault(many=True)


class Problem(s.Serializer[Any]):
    """RFC 9457 problem details."""

    type = s.CharField(help_text="the kind of problem, as a URN that stays the same")
    title = s.CharField()
    status = s.IntegerField()
    detail = s.CharField(help_text="what was wrong, and what would be right")
    instance = s.CharField(help_text="the address that was called")
    request_id = s.CharField(help_text="finds the call in the service's log")
    errors = Fault(many=True, required=False, help_text="every fault that was found")
    rows = FaultyRow(many=True, required=False, help_text="with `?report=rows`: each row of the call")
    current = s.DictField(required=False, allow_null=True, help_text="412: the record as it is now")
    version = s.IntegerField(required=False, help_text="412: the version that is there now")


@cache
def page_of(item: Shape) -> Shape:
    """A page of items."""
    fields = {"items": item(many=True), "next": s.CharField(allow_null=True), "__doc__": "One page; `next` leads on."}
    return type(f"{_noun(item)}Page", (s.Serializer,), fields)


@cache
def list_of(item: Shape) -> Shape:
    """A whole list of items."""
    return type(f"{_noun(item)}List", (s.Serializer,), {"items": item(many=True), "__doc__": "All there are."})


@cache
def bulk_request(noun: Noun) -> Shape:
    """The body of a bulk write of one noun."""
    record, name = serializer_for(noun), noun.model.__name__
    change = {
        "set": record(required=False, partial=True),
        "clear": s.ListField(child=s.CharField(), required=False, max_length=50),
    }
    version = s.IntegerField(min_value=1, max_value=2**31 - 1, help_text="the version you saw")
    update = _shape(
        f"{name}BulkUpdate",
        "One record: fields in `set` are set, those named in `clear` emptied, all others kept.",
        id=s.UUIDField(),
        version=version,
        **change,
    )
    filters = {field: s.CharField(required=False, allow_blank=True) for field in noun.filters}
    where = _shape(
        f"{name}BulkWhere",
        "The same for every record that the filter finds when the call is carried out.",
        filter=_shape(f"{name}Filter", "As in the list's query parameters.", **filters)() if filters else s.DictField(),
        **change,
    )
    return _shape(
        f"{name}Bulk",
        "New records, changes by identifier, and changes to all that a filter finds; at least one of the three.",
        create=s.ListField(child=record(), required=False, max_length=MOST_ROWS),
        update=s.ListField(child=update(), required=False, max_length=MOST_ROWS),
        update_where=where(required=False),
    )


@cache
def bulk_answer(noun: Noun) -> Shape:
    """What a bulk write of one noun did."""
    name = noun.model.__name__
    row = _shape(
        f"{name}BulkRow",
        "One row of the call and its record as it is now.",
        part=s.ChoiceField(choices=["create", "update"]),
        row=s.IntegerField(),
        record=serializer_for(noun)(),
    )
    return _shape(
        f"{name}BulkAnswer",
        "What a bulk write did; `rows` only with `?report=rows`.",
        created=s.IntegerField(),
        updated=s.IntegerField(),
        revision=s.IntegerField(help_text="the project's revision now"),
        rows=row(many=True, required=False),
    )


def _noun(item: Shape) -> str:
    return item.__name__.removesuffix("Serializer")


def _shape(name: str, doc: str, /, **fields: Any) -> Shape:
    return type(name, (s.Serializer,), {**fields, "__doc__": doc})


class VenueRevision(s.Serializer[Any]):
    """Revision of a venue."""

    id = s.UUIDField()
    name = s.CharField()
    revision = s.IntegerField()


class Revisions(s.Serializer[Any]):
    """Revisions of a project and its venues."""

    revision = s.IntegerField()
    venues = VenueRevision(many=True)


class Revision(s.Serializer[Any]):
    """The project's new revision."""

    revision = s.IntegerField()


class Change(s.Serializer[Any]):
    """One record changed in one revision; `before` and `after` hold the fields that differ."""

    id = s.IntegerField()
    revision = s.IntegerField()
    at = s.DateTimeField()
    actor_name = s.CharField()
    via = s.CharField()
    action = s.ChoiceField(choices=["created", "updated", "deleted"])
    record_kind = s.CharField()
    record_id = s.UUIDField()
    record_name = s.CharField()
    venue = s.UUIDField(allow_null=True)
    venue_name = s.CharField()
    venue_revision = s.IntegerField(allow_null=True)
    before = s.DictField()
    after = s.DictField()


class Me(s.Serializer[Any]):
    """Who calls."""

    id = s.UUIDField()
    username = s.CharField()
    token = TokenSerializer(allow_null=True)
