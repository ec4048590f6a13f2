"""The form of one record of any noun."""

import copy
from collections.abc import Iterator, Mapping
from typing import Any

from django import forms

from frontend.editing.fields import form_field
from frontend.editing.groups import FieldGroup, grouped, ungrouped
from frontend.editing.places import Place
from showplan.records.base import Record
from showplan.records.references import ReferenceKey


class VersionedForm(forms.Form):
    """A form that carries the version of the record it showed, so that nobody overwrites what they have not seen."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False, min_value=1, max_value=2**31 - 1)

    @property
    def based_on(self) -> int | None:
        """The version that the writer saw."""
        version: int | None = self.cleaned_data.get("version")
        return version

    def values(self) -> dict[str, Any]:
        """Everything that was filled in."""
        return {name: value for name, value in self.cleaned_data.items() if name != "version"}

    def changed_values(self) -> dict[str, Any]:
        """What differs from the record the form was made from."""
        return {name: value for name, value in self.values().items() if name in self.changed_data}


class RecordForm(VersionedForm):
    """Made from the noun: labels, units, choices and references that belong to the project or venue."""

    def __init__(self, place: Place, record: Record | None = None, data: Any = None, start: Any = None) -> None:
        super().__init__(data, initial=_initial(place, record, start or {}), label_suffix="")
        for field in place.noun.fields:
            self.fields[field.name] = form_field(field, place.noun, place.owner_of)
            if isinstance(field, ReferenceKey):
                _offer(self.fields[field.name], self.initial.get(field.name))
        if record is None:
            del self.fields["version"]
        self._path = place.noun.path
        self._usual = _defaults(place)

    def ungrouped(self) -> Iterator[forms.BoundField]:
        """The fields that stand above every heading."""
        return ungrouped(self, self._path)

    def grouped(self) -> Iterator[FieldGroup]:
        """The others, under their headings."""
        return grouped(self, self._path, self._usual)


def _offer(field: forms.Field, key: Any) -> None:
    """Add the key a record has to the choices where the table lacks it: nothing is lost by looking at the form."""
    assert isinstance(field, forms.ChoiceField)
    known = list(field.choices)
    if key and key not in (one for one, _ in known):
        field.choices = [*known, (key, f"{key} (not in the table)")]


def as_filled_in(record: Record, values: Mapping[str, Any]) -> Record:
    """A copy of `record`, not written, with the values of a form."""
    filled = copy.copy(record)
    for name, value in values.items():
        setattr(filled, name, value)
    return filled


def _initial(place: Place, record: Record | None, start: Mapping[str, Any]) -> dict[str, Any]:
    if record is not None:
        values = {field.name: field.value_from_object(record) for field in place.noun.fields}
        return {**values, "version": record.version}
    return {**_defaults(place), **{field.name: start[field.name] for field in place.noun.fields if field.name in start}}


def _defaults(place: Place) -> dict[str, Any]:
    return {field.name: field.get_default() for field in place.noun.fields if field.has_default()}
