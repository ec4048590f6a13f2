"""Forms that take files: a project, a venue, a table of kit, or one of readings."""

from typing import Any

from django import forms

from showplan.records.models import Project
from showplan.services.exchange import TABLE_NOUNS

LARGEST_MB = 8


class UploadForm(forms.Form):
    """One file."""

    file = forms.FileField(label="File")

    def clean_file(self) -> Any:
        """The file, if it is not larger than what the service reads."""
        file = self.cleaned_data["file"]
        if file.size > LARGEST_MB * 1_000_000:
            raise forms.ValidationError(f"The file is larger than {LARGEST_MB} MB.")
        return file


class DocumentForm(UploadForm):
    """An exported project or venue, and another name for it."""

    name = forms.CharField(label="Another name", required=False, max_length=80, help_text="instead of the one in it")


class TableForm(UploadForm):
    """A table of nodes, loads or timelines."""

    kind = forms.ChoiceField(label="What the table holds", choices=[(noun.path, noun.plural) for noun in TABLE_NOUNS])
    dry_run = forms.BooleanField(label="Only say what would change", required=False, initial=True)


class ReadingsForm(UploadForm):
    """A table of walk-test readings of one venue."""

    venue = forms.ModelChoiceField(label="Venue", queryset=None)
    dry_run = forms.BooleanField(label="Only say what would change", required=False, initial=True)

    def __init__(self, project: Project, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["venue"].queryset = project.venues.all()  # type: ignore[attr-defined]
