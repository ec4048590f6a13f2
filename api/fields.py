"""Strict serializer fields: a value of another type is refused, not converted."""

import math
from reprlib import repr as brief
from typing import Any
from uuid import UUID

from rest_framework import serializers


class StrictFloatField(serializers.FloatField):
    """A JSON number."""

    def to_internal_value(self, data: Any) -> float:
        """The number; text and truth values are refused, so is anything past what a float holds."""
        if isinstance(data, bool) or not isinstance(data, int | float):
            self.fail("invalid")
        try:
            value = float(data)
        except OverflowError:
            self.fail("invalid")
        if not math.isfinite(value):
            self.fail("invalid")
        return value


class StrictIntegerField(serializers.IntegerField):
    """A JSON number without a fraction."""

    def to_internal_value(self, data: Any) -> int:
        """The number; text, truth values and fractions are refused."""
        if isinstance(data, bool) or not isinstance(data, int | float):
            self.fail("invalid")
        if isinstance(data, float) and not data.is_integer():
            self.fail("invalid")
        return int(data)


class StrictBooleanField(serializers.BooleanField):
    """true or false."""

    def to_internal_value(self, data: Any) -> bool:
        """The truth value; 'yes', 1 and the like are refused."""
        if not isinstance(data, bool):
            self.fail("invalid", input=data)
        return data


class StrictCharField(serializers.CharField):
    """A JSON string, kept as it is."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"trim_whitespace": False} | options)

    def to_internal_value(self, data: Any) -> str:
        """The text; numbers are refused, so are the characters no database column takes."""
        if not isinstance(data, str):
            self.fail("invalid")
        text = super().to_internal_value(data)
        if not text.isprintable() and any(ord(c) < 32 and c not in "\n\t\r" for c in text):
            raise serializers.ValidationError("control characters are not allowed")
        return str(text)


class KeyField(serializers.ChoiceField):
    """A key of a reference table."""

    def to_internal_value(self, data: Any) -> str:
        """The key; the error lists the known ones."""
        if not isinstance(data, str) or data not in self.choices:
            known = ", ".join(self.choices)
            raise serializers.ValidationError(f"{brief(data)} is not known here; known: {known}")
        return data


class StrictUUIDField(serializers.UUIDField):
    """An identifier, as text."""

    expected = "must be an identifier (UUID)"

    def to_internal_value(self, data: Any) -> UUID:
        """The identifier; numbers are refused."""
        try:
            return UUID(data)
        except (ValueError, AttributeError):  # another text, or no text at all
            raise serializers.ValidationError(self.expected) from None


class ReferenceField(StrictUUIDField):
    """Another record of the same project or venue, by its identifier.

    The records are looked up together for all rows: `context["references"]` holds them (see `api.references`).
    """

    def __init__(self, *, to: str = "", **options: Any) -> None:
        self.to, self.expected = to, f"must be the identifier (UUID) of a {to}"
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> Any:
        """The record."""
        key = super().to_internal_value(data)
        found = self.context["references"].find(self.field_name, key)
        if found is None:
            raise serializers.ValidationError(f"there is no {self.to} {key} here")
        return found

    def to_representation(self, value: Any) -> str:
        """The identifier."""
        return str(getattr(value, "pk", value))
