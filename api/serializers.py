"""Serializers made from the nouns: one for each kind of record, with strict fields."""

from collections.abc import Mapping
from functools import cache
from typing import Any, ClassVar

from django.db import models
from rest_framework import serializers

from api.fields import (
    KeyField,
    ReferenceField,
    StrictBooleanField,
    StrictCharField,
    StrictFloatField,
    StrictIntegerField,
)
from showplan.records.base import FARTHEST_M, BoundedFloat, BoundedInteger, MetresField
from showplan.records.references import ReferenceKey
from showplan.services.nouns import Noun, by_model

BOOKKEEPING = ("id", "version", "created_at", "changed_at")


class StrictSerializer(serializers.Serializer[Any]):
    """Refuses fields it does not know."""

    def to_internal_value(self, data: Any) -> Any:
        """Checked values; every unknown field is a fault of its own."""
        if isinstance(data, Mapping):
            writable = {name for name, field in self.fields.items() if not field.read_only}
            unknown = [str(name) for name in data if name not in writable]
            if unknown:
                faults = {name: [self._why_not(name, writable)] for name in unknown}
                try:
                    super().to_internal_value({name: data[name] for name in data if name in writable})
                except serializers.ValidationError as error:
                    faults |= error.detail if isinstance(error.detail, dict) else {}
                raise serializers.ValidationError(faults)
        return super().to_internal_value(data)

    def _why_not(self, name: str, writable: set[str]) -> str:
        if name in self.fields:
            return "is read-only: take it out"
        return f"is no field here; known: {', '.join(sorted(writable))}"


class Corners(serializers.ListField):
    """The corners of a zone: a list of [x, y] in metres."""

    child = serializers.ListField(
        child=StrictFloatField(min_value=-FARTHEST_M, max_value=FARTHEST_M), min_length=2, max_length=2
    )

    def __init__(self, **options: Any) -> None:
        options.pop("encoder", None)
        options.pop("decoder", None)
        super().__init__(min_length=3, **options)


class Metres(serializers.ListField):
    """Lengths in metres, such as [0.5, 1.5]."""

    child = StrictFloatField(min_value=0.0, max_value=FARTHEST_M)

    def __init__(self, **options: Any) -> None:
        options.pop("encoder", None)
        options.pop("decoder", None)
        super().__init__(**options)


class RecordSerializer(StrictSerializer):
    """Base of the serializers made by `serializer_for`."""

    noun: ClassVar[Noun]

    id = serializers.UUIDField(read_only=True)
    version = serializers.IntegerField(read_only=True, help_text="grows with each change; the ETag is this number")
    created_at = serializers.DateTimeField(read_only=True)
    changed_at = serializers.DateTimeField(read_only=True)


@cache
def serializer_for(noun: Noun) -> type[RecordSerializer]:
    """The serializer class of a noun; its fields follow the model's."""
    fields: dict[str, Any] = {field.name: _serializer_field(field) for field in noun.fields}
    name = f"{noun.model.__name__}Serializer"
    return type(name, (RecordSerializer,), {**fields, "noun": noun, "__doc__": noun.model.__doc__})


def _serializer_field(field: "models.Field[Any, Any]") -> serializers.Field[Any, Any, Any, Any]:
    """The strict serializer field for a model field, with the same bounds, choices and default."""
    options: dict[str, Any] = {"required": not (field.null or field.has_default() or field.blank)}
    if field.null:
        options["allow_null"] = True
    if field.help_text:
        options["help_text"] = str(field.help_text)
    match field:
        case models.ForeignKey():
            to = by_model()[field.related_model].singular
            return ReferenceField(to=to, help_text=f"identifier of a {to}", **options)
        case BoundedFloat() | BoundedInteger():
            kind = StrictFloatField if isinstance(field, BoundedFloat) else StrictIntegerField
            return kind(min_value=field.low, max_value=field.high, **options)
        case ReferenceKey() if field.own:
            keys = f"a key of the table of {field.table} ({', '.join(field.keys())}), or that of an"
            words = f"{keys} {field.own_model().noun()} of the project"
            return StrictCharField(max_length=field.max_length, help_text=words, **options)
        case ReferenceKey():
            return KeyField(choices=[*_none(field), *field.keys()], **options)
        case models.CharField() if field.choices:
            return KeyField(choices=[*_none(field), *(key for key, _ in field.flatchoices)], **options)
        case models.BooleanField():
            return StrictBooleanField(**options)
        case MetresField():
            return Metres(**options)
        case models.JSONField():
            return Corners(**options)
        case models.DateTimeField():
            return serializers.DateTimeField(**options)
        case models.DateField():
            return serializers.DateField(**options)
        case models.TextField():
            return StrictCharField(allow_blank=field.blank, max_length=field.max_length or 10_000, **options)
        case models.CharField():
            return StrictCharField(allow_blank=field.blank, max_length=field.max_length, **options)
    raise TypeError(f"no serializer field for {field}")


def _none(field: "models.Field[Any, Any]") -> tuple[str, ...]:
    """What stands for no choice where that is allowed."""
    return ("",) if field.blank else ()
