"""A form for each kind of job, made from the kind's parameters: the services judge what was typed."""

from types import NoneType
from typing import Any, Literal, get_args, get_origin

from django import forms
from pydantic.fields import FieldInfo

from frontend.editing.fields import NumberField, WholeNumberField
from frontend.editing.page import show_faults
from showplan.services.errors import InvalidInput
from showplan.services.jobs.kind import Kind


class JobForm(forms.Form):
    """Which kind it is for stands in a hidden field; every other field is a parameter."""

    def __init__(self, kind: Kind, data: Any = None) -> None:
        super().__init__(data, prefix=kind.name)
        self.kind = kind
        for name, field in kind.parameters.model_fields.items():
            self.fields[name] = _form_field(name, field)

    def given(self) -> dict[str, Any]:
        """The parameters that were filled in; what was left empty keeps its usual value."""
        return {name: value for name, value in self.cleaned_data.items() if value not in (None, "")}

    def show(self, error: InvalidInput) -> None:
        """Put each fault beside the field it is about."""
        show_faults(self, error)


def _form_field(name: str, field: FieldInfo) -> forms.Field:
    usual = None if field.is_required() else field.get_default(call_default_factory=True)
    options: dict[str, Any] = {"label": field.title or name, "required": field.is_required(), "initial": usual}
    if field.description:
        options["help_text"] = field.description
    sort = _sort_of(field.annotation)
    if get_origin(sort) is Literal:
        choices = [(str(key), str(key)) for key in get_args(sort)]
        return forms.ChoiceField(choices=choices if field.is_required() else [("", "any"), *choices], **options)
    if sort is bool:
        return forms.BooleanField(**options | {"required": False})
    kinds: dict[Any, type[forms.Field]] = {float: NumberField, int: WholeNumberField}
    return kinds.get(sort, forms.CharField)(**options)


def _sort_of(annotation: Any) -> Any:
    """float for `float | None`."""
    parts = [part for part in get_args(annotation) if part is not NoneType]
    return parts[0] if NoneType in get_args(annotation) and len(parts) == 1 else annotation
