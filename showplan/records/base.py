"""What every record has: an identifier, a version that grows, and bounded numbers."""

import uuid
from collections.abc import Sequence
from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.db import models

LONGEST_NAME = 80
# No venue, cable or level reaches this far; a bound also keeps NaN and infinity out of both databases
# (PostgreSQL sorts NaN above every number, SQLite stores it as NULL).
FARTHEST_M = 10_000.0


class Record(models.Model):
    """A row that crews and scripts edit through `showplan.services.editing`, never directly.

    `owner` is the path of attribute names that leads to the project; the last but one may be the venue.
    `natural_key` names the field by which people know the record; it stands in findings and in the history.
    """

    owner: ClassVar[Sequence[str]]
    natural_key: ClassVar[str] = "name"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return str(getattr(self, self.natural_key))

    @classmethod
    def noun(cls) -> str:
        """The record's kind as people and the API write it, e.g. 'node type'."""
        return str(cls._meta.verbose_name)


def owner_of(record: Record, kind: str) -> Any:
    """The project or venue (`kind`) that `record` belongs to; None where it has none of that kind."""
    here: Any = record
    if here._meta.model_name == kind:
        return here
    for step in record.owner:
        here = getattr(here, step)
        if here is None or here._meta.model_name == kind:
            return here
    return None


def constraint_fields(model: type[Record], constraint: models.UniqueConstraint) -> "list[models.Field[Any, Any]]":
    """The fields that a unique constraint spans, in its order."""
    by_name = {field.name: field for field in model._meta.concrete_fields}
    return [by_name[name] for name in constraint.fields]


class _Bounded:
    """Inclusive bounds declared once, kept by forms, by `clean` and by a CHECK on the database's column."""

    low: float
    high: float

    def __init__(self, *, low: float, high: float, **options: Any) -> None:
        self.low, self.high = low, high
        super().__init__(**options)

    def deconstruct(self) -> Any:
        name, path, args, options = super().deconstruct()  # type: ignore[misc]
        return name, path, args, {**options, "low": self.low, "high": self.high}

    def clean(self, value: Any, model_instance: models.Model | None) -> Any:
        cleaned = super().clean(value, model_instance)  # type: ignore[misc]
        # Written so that NaN, which compares false with everything, is refused.
        if cleaned is not None and not self.low <= cleaned <= self.high:
            raise ValidationError(f"must be from {self.low:g} to {self.high:g}, not {cleaned:g}", code="range")
        return cleaned

    def db_check(self, connection: Any) -> str:
        column = connection.ops.quote_name(self.column)  # type: ignore[attr-defined]
        return f"{column} >= {self.low!r} AND {column} <= {self.high!r}"


class BoundedFloat(_Bounded, models.FloatField):  # type: ignore[type-arg]
    """A float within inclusive bounds."""


class BoundedInteger(_Bounded, models.IntegerField):  # type: ignore[type-arg]
    """A whole number within inclusive bounds."""


class PositiveFloat(BoundedFloat):
    """A length, size or rating that is above zero."""

    def __init__(self, *, high: float, low: float = 1e-6, **options: Any) -> None:
        super().__init__(low=low, high=high, **options)


class MetresField(models.JSONField):
    """A list of lengths in metres."""
