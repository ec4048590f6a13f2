"""Form fields made from the fields of a record: they read what was typed; the services judge it."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.db import models

from frontend.editing.wording import hint_of, label_of
from frontend.present.words import number
from showplan.records.base import BoundedFloat, BoundedInteger, MetresField, Record
from showplan.records.models import Zone
from showplan.records.references import ReferenceKey
from showplan.services.nouns import Noun, by_model

MISSING = {"required": "This is missing.", "invalid_choice": "Choose one from the list."}
LONGEST_TEXT = 10_000
ANY = ("", "any")


class NumberField(forms.FloatField):
    """A decimal number, typed with a point; shown as short as it can be."""

    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})

    def prepare_value(self, value: Any) -> Any:
        """4.0 is shown as 4."""
        return repr(value).removesuffix(".0") if isinstance(value, float) else value


class WholeNumberField(forms.IntegerField):
    """A whole number."""

    widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})


class CornersField(forms.CharField):
    """The corners of a zone or crowd area, one on each line: x and y in metres."""

    widget = forms.Textarea(attrs={"rows": 6, "autocomplete": "off"})

    def prepare_value(self, value: Any) -> Any:
        """[[2, 2], [10, 2]] is shown as two lines."""
        if isinstance(value, list):
            return "\n".join(", ".join(repr(part).removesuffix(".0") for part in corner) for corner in value)
        return value

    def to_python(self, value: Any) -> Any:
        """A list of [x, y]. Raises ValidationError, which names the line."""
        if isinstance(value, list):
            return value
        corners = []
        for place, line in enumerate(str(value or "").strip().splitlines(), 1):
            parts = line.replace(",", " ").replace(";", " ").split()
            try:
                x_m, y_m = (float(part) for part in parts)
            except ValueError:
                raise forms.ValidationError(f"Line {place} is not two numbers: {line.strip() or 'empty'}") from None
            corners.append([x_m, y_m])
        return corners or None

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Whether the numbers differ, however they are written."""
        try:
            return self.to_python(initial) != self.to_python(data)
        except forms.ValidationError:
            return True


class MetresListField(forms.CharField):
    """Lengths in metres, with spaces between."""

    def prepare_value(self, value: Any) -> Any:
        """[0.5, 2.0] is shown as '0.5 2'."""
        return " ".join(repr(part).removesuffix(".0") for part in value) if isinstance(value, list) else value

    def to_python(self, value: Any) -> Any:
        """A list of numbers. Raises ValidationError, which names the first that is none."""
        if isinstance(value, list):
            return value
        numbers = []
        for part in str(value or "").replace(",", " ").replace(";", " ").split():
            try:
                numbers.append(float(part))
            except ValueError:
                raise forms.ValidationError(f"Not a number of metres: {part}") from None
        return numbers

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Whether the numbers differ, however they are written."""
        try:
            return self.to_python(initial) != self.to_python(data)
        except forms.ValidationError:
            return True


class RecordChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Another record of the same project or venue."""

    def __init__(self, target: Noun, owner: Any, **options: Any) -> None:
        self.target, self.owner = target, owner
        super().__init__(target.loaded(owner).order_by(target.sort, "id"), **options)

    def label_from_instance(self, obj: Any) -> str:
        """The record's name, a zone's with its level."""
        return f"{obj} ({obj.level})" if isinstance(obj, Zone) else str(obj)

    def to_python(self, value: Any) -> Any:
        """The record, ready to be checked without further queries."""
        found = super().to_python(value)
        if isinstance(found, Record):
            self.target.adopt(found, self.owner)
        return found


def form_field(field: "models.Field[Any, Any]", noun: Noun, owner_of: Any) -> forms.Field:
    """The form field for a field of a noun; `owner_of(target)` is the project or venue to choose references from."""
    options: dict[str, Any] = {
        "label": label_of(field),
        "help_text": hint_of(field),
        "required": not (field.null or field.blank),
        "error_messages": MISSING,
    }
    empty = "choose one" if options["required"] else "none"
    match field:
        case models.ForeignKey():
            target = noun.targets[field.name]
            return RecordChoice(target, owner_of(target), empty_label=empty, **options)
        case BoundedFloat() | BoundedInteger():
            kind = NumberField if isinstance(field, BoundedFloat) else WholeNumberField
            limits = limits_in_words(field)
            return kind(**{**options, "help_text": " ".join(filter(None, (limits, options["help_text"])))})
        case ReferenceKey():
            known = _known_keys(field, owner_of)
            return forms.ChoiceField(choices=lambda: [("", empty), *known()], **options)
        case models.CharField() if field.choices:
            return forms.ChoiceField(choices=[("", empty), *chosen_from(field)], **options)
        case models.BooleanField():
            return forms.BooleanField(**{**options, "required": False})
        case MetresField():
            return MetresListField(**options)
        case models.JSONField():
            return CornersField(**options)
        case models.DateTimeField():
            return forms.DateTimeField(**options, widget=forms.DateTimeInput(format="%Y-%m-%d %H:%M:%S"))
        case models.DateField():
            return forms.DateField(**options, widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
        case models.TextField():
            longest = field.max_length or LONGEST_TEXT
            area = forms.Textarea(attrs={"rows": 3 if longest == LONGEST_TEXT else 12})
            return forms.CharField(**options, widget=area, max_length=longest, strip=False)
        case models.CharField():
            return forms.CharField(**options, max_length=field.max_length)
    raise TypeError(f"no form field for {field}")


def filter_field(field: "models.Field[Any, Any]", noun: Noun, owner_of: Any) -> forms.Field:
    """The same as a narrowing of a list: nothing is required, and everything can be 'any'."""
    options: dict[str, Any] = {"label": label_of(field), "required": False}
    match field:
        case models.BooleanField():
            return forms.TypedChoiceField(
                choices=[ANY, ("yes", "yes"), ("no", "no")],
                coerce=lambda text: text == "yes",
                empty_value=None,
                **options,
            )
        case models.ForeignKey():
            target = noun.targets[field.name]
            return RecordChoice(target, owner_of(target), empty_label="any", **options)
        case ReferenceKey():
            known = _known_keys(field, owner_of)
            return forms.ChoiceField(choices=lambda: [ANY, *known()], **options)
        case models.CharField() if field.choices:
            return forms.ChoiceField(choices=[ANY, *chosen_from(field)], **options)
        case models.CharField():
            return forms.CharField(**{**options, "label": f"{options['label']} contains"})
    made = form_field(field, noun, owner_of)
    made.required, made.help_text = False, ""
    return made


def _known_keys(field: ReferenceKey, owner_of: Any) -> Callable[[], list[tuple[str, str]]]:
    """The keys of the table, and those of the project's own where the field takes them too."""
    if not field.own:
        return lambda: table_choices(field)
    target = by_model()[field.own_model()]
    own = target.within(owner_of(target)).order_by(target.sort).values_list(target.sort, flat=True)
    # A copy asks the database anew; each form has its own.
    return lambda: [*table_choices(field), *((key, f"{key} ({target.singular})") for key in own.all())]


def table_choices(field: ReferenceKey) -> list[tuple[str, str]]:
    """Keys with the names of their rows; a row from memory says so."""
    return [
        (key, f"{row.name} (from memory)" if getattr(row, "standing", "") == "memory" else row.name)
        for key, row in field.keys().items()
    ]


def chosen_from(field: "models.Field[Any, Any]") -> list[tuple[str, str]]:
    """The values of a field that has a few, as they are written everywhere."""
    return [(key, str(key)) for key, _ in field.flatchoices]


def limits_in_words(field: BoundedFloat | BoundedInteger) -> str:
    """'From 1 to 6.'; nothing for a position, whose bounds are far off any level."""
    if field.low == -field.high:
        return ""
    low = "Above 0, up to" if 0 < field.low < 1e-3 else f"From {number(field.low)} to"
    return f"{low} {number(field.high)}."
