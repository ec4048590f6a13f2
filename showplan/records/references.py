"""Fields that hold the key of a row in one of the dated reference tables."""

from collections.abc import Collection, Mapping
from difflib import get_close_matches
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models

from showplan import reference

LONGEST_KEY = 40


class ReferenceKey(models.CharField):  # type: ignore[type-arg]
    """A key of `showplan.reference.<table>()`, e.g. a material; checked when the record is cleaned.

    `own` names the records of the project (`project.<own>`) whose keys it takes as well. Cleaning asks no database, so
    such a field takes any key there; `services.own_keys` looks among the project's own.
    """

    # Where else a key may come from does not change the column.
    non_db_attrs = (*models.CharField.non_db_attrs, "own")

    def __init__(self, *, table: str, own: str = "", **options: Any) -> None:
        self.table, self.own = table, own
        options.setdefault("max_length", LONGEST_KEY)
        super().__init__(**options)

    def deconstruct(self) -> Any:
        name, path, args, options = super().deconstruct()
        return name, path, args, {**options, "table": self.table} | ({"own": self.own} if self.own else {})

    def keys(self) -> Mapping[str, Any]:
        """The table's rows by key."""
        rows: Mapping[str, Any] = getattr(reference, self.table)()
        return rows

    def clean(self, value: Any, model_instance: models.Model | None) -> Any:
        key = super().clean(value, model_instance)
        if key and key not in self.keys() and not self.own:
            raise ValidationError(self.unknown(key, self.keys()))
        return key

    def unknown(self, key: str, known: Collection[str]) -> str:
        """What is said of a key that is not among the `known` ones."""
        close = get_close_matches(key, known, n=1)
        hint = f"; did you mean {close[0]!r}?" if close else "."
        where = f"not in the table of {self.table}"
        if self.own:
            where = f"neither in the table of {self.table} nor an {self.own_model().noun()} of the project"
        return f"{key!r} is {where}{hint} Known: {', '.join(known)}"

    def own_model(self) -> Any:
        """The class of the records whose keys the field takes beside the table's."""
        project: Any = self.model._meta.get_field("project").related_model
        return project._meta.get_field(self.own).related_model
