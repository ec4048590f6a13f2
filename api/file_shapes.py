"""Shapes of files and tables, for the API's description."""

from typing import Any

from rest_framework import serializers as s

from api.shapes import Shape
from showplan.services.exchange import FORMAT_VERSION, KIT, PROJECT_FORMAT, VENUE_FORMAT, list_name

_VERSION = {"min_value": 1, "max_value": FORMAT_VERSION}


def _rows(of: str) -> Any:
    return s.ListField(child=s.DictField(), required=False, help_text=f"{of}, in order of name; references by name")


def _file(name: str, doc: str, file_format: str, **fields: Any) -> Shape:
    head = {"format": s.ChoiceField(choices=[file_format]), "format_version": s.IntegerField(**_VERSION)}
    return type(name, (s.Serializer,), {**head, **fields, "__doc__": doc})


ProjectFile = _file(
    "ProjectFile",
    "A project as a file: no identifiers, versions, members, tokens, history or plan pictures.",
    PROJECT_FORMAT,
    project=s.DictField(help_text="name and note"),
    **{list_name(noun): _rows(noun.plural) for noun in KIT},
    venues=_rows("venues with their own lists: levels, walls and so on"),
)
VenueFile = _file(
    "VenueFile",
    "A venue as a file; nodes and node types stand in it by their names.",
    VENUE_FORMAT,
    venue=s.DictField(help_text="the venue's fields and its lists: levels, walls and so on"),
)


class TableRow(s.Serializer[Any]):
    """What became of one line of a table."""

    line = s.IntegerField()
    label = s.CharField()
    action = s.ChoiceField(choices=["create", "update"])
    fields = s.ListField(child=s.CharField())  # type: ignore[assignment]


class TableReport(s.Serializer[Any]):
    """What the table did, or with `dry_run=true` would do."""

    dry_run = s.BooleanField()
    created = s.IntegerField()
    updated = s.IntegerField()
    unchanged = s.IntegerField()
    revision = s.IntegerField(help_text="the project's revision afterwards")
    rows = TableRow(many=True)
