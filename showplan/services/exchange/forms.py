"""How each kind of record stands in a document: made from the nouns, so a new field or kind needs nothing here."""

from typing import Any

from django.db import models

from showplan.records.base import Record
from showplan.services.nouns import NOUNS, Noun, by_path

VENUES = by_path()["venues"]
# Both in the order in which records can be written: what others refer to comes first.
KIT = tuple(noun for noun in NOUNS if noun.parent == "project" and noun is not VENUES)
ON_VENUE = tuple(noun for noun in NOUNS if noun.parent == "venue")


def list_name(noun: Noun) -> str:
    """The member that holds the noun's records, e.g. node_types."""
    return noun.path.replace("-", "_")


def is_named_on_level(noun: Noun) -> bool:
    """Whether two records of the noun may share a name on two levels, so that only both together name one."""
    return "level" in noun.targets


def is_named(noun: Noun) -> bool:
    """Whether a text of its own names each record of the noun: its label or name, not its date or the node it is of."""
    key = noun.model.natural_key
    unique = [c for c in noun.model._meta.constraints if isinstance(c, models.UniqueConstraint)]
    return key not in noun.targets and any(constraint.fields[-1] == key for constraint in unique)


def name_of(record: Record) -> str:
    """What other records call it by."""
    return str(getattr(record, record.natural_key))


def is_required(field: "models.Field[Any, Any]") -> bool:
    """Whether a new record cannot do without the field."""
    return not (field.null or field.has_default() or field.blank)
