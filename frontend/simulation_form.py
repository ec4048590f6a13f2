"""The question to the packet simulation as a form: what is usually asked in front, the rest folded."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from frontend.editing.fields import MISSING
from frontend.job_forms import JobForm
from showplan.services.jobs.kinds import KINDS
from showplan.services.jobs.kinds.packet_simulation import NAME

HOUSES = ("empty", "full")
FURTHER = ("fading", "sensing_dbm", "burst_ms")
HINTS = {
    "seconds": "1 to 36000.",
    "replications": "1 to 100. More make narrower intervals; a single one gives none.",
    "seed": "The same seed gives the same figures.",
}


class SimulationForm(JobForm):
    """For one venue with these networks; it begins with the state of the house `house`, or as `asked` for before."""

    def __init__(
        self, networks: Sequence[str], house: str, data: Any = None, asked: Mapping[str, Any] | None = None
    ) -> None:
        super().__init__(KINDS[NAME], data)
        self.label_suffix = ""
        begin = {"network": next(iter(networks), ""), "house": house, **(asked or {})}
        self.fields["network"] = forms.ChoiceField(
            choices=[(name, name) for name in networks], label="Network", error_messages=MISSING
        )
        self.fields["house"] = forms.ChoiceField(
            choices=[(name, name) for name in HOUSES], label=self.fields["house"].label, error_messages=MISSING
        )
        for name, field in self.fields.items():
            field.initial = begin.get(name, field.initial)
            field.help_text = HINTS.get(name, field.help_text)

    def groups(self) -> list[dict[str, Any]]:
        """What is usually asked, then the rest, which is folded unless it has a fault."""
        usual = [field for field in self if field.name not in FURTHER]
        further = [field for field in self if field.name in FURTHER]
        is_folded = not any(field.errors for field in further)
        return [
            {"title": "What is simulated", "fields": usual, "may_fold": False},
            {"title": "Fading, sensing, other radio", "fields": further, "may_fold": True, "is_folded": is_folded},
        ]
