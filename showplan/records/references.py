"""Fields that hold the key of a row in one of the dated reference tables."""

from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models

from showplan import reference

LONGEST_KEY = 40


class ReferenceKey(models.CharField):  # type: ignore[type-arg]
    """A key of `showplan.reference.<table>()`, e.g. a material; checked when the record is cleaned."""

    def __init__(self, *, table: str, **options: Any) -> None:
        self.table = table
        options.setdefault("max_length", LONGEST_KEY)
        super().__init__(**options)

    def deconstruct(self) -> Any:
        name, path, args, options = super().deconstruct()
        return name, path, args, {**options, "table": self.table}

    def keys(self) -> Mapping[str, Any]:
        """The table's rows by key."""
        rows: Mapping[str, Any] = getattr(reference, self.table)()
        return rows

    def clean(self, value: Any, model_instance: models.Model | None) -> Any:
        key = super().clean(value, model_instance)
        if key and key not in self.keys():
            close = get_close_matches(str(key), self.keys(), n=1)
            hint = f"; did you mean {close[0]!r}?" if close else ""
            raise ValidationError(f"{key!r} is not in the table of {self.table}{hint} Known: {', '.join(self.keys())}")
        return key
