"""The question to the relay planner as a form: it reads what was typed; the services judge it."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django import forms
from django.forms import BoundField
from django.forms.utils import ErrorDict

from frontend import relay_demands
from frontend.editing.fields import MISSING, NumberField, WholeNumberField
from frontend.editing.page import show_faults
from frontend.present.words import counted
from showplan.services.errors import FieldFault, InvalidInput
from showplan.services.jobs.kinds import KINDS
from showplan.services.relay_asking import RelayChoices

FIELDS = KINDS["relay-placement"].parameters.model_fields
AIR = ("packet_octets", "packets", "refresh_hz", "share")
USUAL_AIR = {"packet_octets": 60, "packets": 1, "refresh_hz": 20.0, "share": 0.5}
MOST_BOXES = 100  # names that are shown with a box each; there may be as many sites as a crew draws
USUAL_STEP_M = 3.0
LAYOUTS = {"grids": "grid", "edges": "edges"}
SELECTORS = ("layout_", "air_kind", "demand_")  # fields that say whether a group that may be folded is in use
# What the form has no field for is asked by API or command; shown again from a job, it is kept.
KEPT = ("lines",)
KEPT_WORDS = {
    "lines": ("line of sites", "lines of sites"),
    "grids": ("further grid", "further grids"),
    "edges": ("further layout along walls and edges", "further layouts along walls and edges"),
}


class ManyNames(forms.MultipleChoiceField):
    """Several names, each with its box; a name that is not there is the services' to refuse."""

    widget = forms.CheckboxSelectMultiple

    def valid_value(self, value: Any) -> bool:
        """Any."""
        return True


class LinesOfNames(forms.CharField):
    """Several names, one on each line: where a box for each would be thousands of boxes."""

    widget = forms.Textarea(attrs={"rows": 6, "autocomplete": "off"})

    def prepare_value(self, value: Any) -> Any:
        """['S1', 'S2'] is shown as two lines."""
        return "\n".join(value) if isinstance(value, list) else value

    def to_python(self, value: Any) -> Any:
        """The names that stand there."""
        return [name for line in str(value or "").splitlines() if (name := line.strip())]


class RelayForm(forms.Form):
    """The wishes for one venue; `asked` are the parameters of an earlier job to begin with.

    With a button that adds or takes off a row among the `data` it is a draft: shown again as typed, and not judged.
    """

    def __init__(self, choices: RelayChoices, data: Any = None, asked: Mapping[str, Any] | None = None) -> None:
        draft = relay_demands.redrawn(data) if data is not None else None
        super().__init__(data if draft is None else draft, label_suffix="", auto_id="wish_%s")
        self.choices, self.asked, self.is_draft = choices, dict(asked or {}), draft is not None
        self._further: dict[str, list[Any]] = {
            name: [one for one in self.asked.get(name, ()) if one["level"] in {level.name for level in choices.levels}]
            for name in LAYOUTS
        }
        self._one_of("network", "Network", choices.networks)
        self._one_of("relay_type", "Node type of the relays", choices.relay_types)
        self._add(
            "most_hops", WholeNumberField, "Most hops from gateway to node", "Relays in a row and one more; 1 to 12."
        )
        self._add("least_delivery", NumberField, "Least delivery of a hop", "Share of packets sent once that arrive.")
        self._add("extra_margin_db", NumberField, "Margin beyond the fade margin (dB)")
        self._yes_no("acknowledged", "Links must hold in both directions")
        routes = [(1, "one is enough"), (2, "two that share no relay")]
        self.fields["routes"] = forms.TypedChoiceField(
            choices=routes,
            coerce=int,
            label="Routes to every node",
            initial=self._start("routes"),
            error_messages=MISSING,
        )
        self._many("two_routes_for", "Zones whose nodes want two routes", choices.zones)
        self._add("most_relays", WholeNumberField, "Most relays in the truck")
        self._yes_no("needs_mains", "Relays need mains")
        self._add(
            "gateways_to_choose",
            WholeNumberField,
            "Gateways whose sites are to be chosen too",
            "Empty: the gateways stay where they stand. 1 to 4.",
        )
        self._demands()
        self._yes_no("given_sites", "Use the venue's candidate sites")
        self._yes_no("present_sites", "Use the places where relays stand now")
        self._many("must", "A relay must stand at", choices.sites)
        self._many("never", "No relay may stand at", choices.sites)
        for number, level in enumerate(choices.levels):
            self._layout(number, level)
        self._air()
        self._add("seconds", NumberField, "Longest time to search (s)", "The best so far is the answer then.")

    def groups(self) -> list[dict[str, Any]]:
        """The fields in the order in which a crew thinks of them."""
        levels = [f"{name}_{n}" for n in range(len(self.choices.levels)) for name in ("layout", "step_m", "height_m")]
        demands = [relay_demands.field_name(part, row) for row in self._demand_rows for part in relay_demands.PARTS]
        parts = (
            ("What is planned", ("network", "relay_type", "most_relays", "needs_mains", "gateways_to_choose")),
            (
                "How safe",
                ("most_hops", "least_delivery", "extra_margin_db", "acknowledged", "routes", "two_routes_for"),
            ),
            ("Sites", ("given_sites", "present_sites", "must", "never")),
            (relay_demands.TITLE, demands),
            ("Further sites, laid out", levels),
            ("Air time of one frame", ("air_kind", *AIR)),
            ("Search", ("seconds",)),
        )
        found = []
        for title, names in parts:
            fields: list[BoundField] = [self[name] for name in names]
            # What is seldom wanted is folded away, but never a fault or something that was chosen.
            selectors = [field for field in fields if field.name.startswith(SELECTORS)]
            is_demands = title == relay_demands.TITLE
            may_fold = bool(selectors) or is_demands
            in_use = any(field.value() for field in selectors) or any(field.errors for field in fields)
            is_folded = may_fold and not in_use and not (is_demands and self.is_draft)
            group = {"title": title, "fields": fields, "is_folded": is_folded, "may_fold": may_fold}
            found.append(group | self._demand_parts() if is_demands else group)
        return [one for one in found if one["may_fold"] or one["fields"]]

    @property
    def kept_words(self) -> str:
        """What an earlier question had that this form cannot show, and what is asked again with it."""
        counts = {name: len(self.asked.get(name, ())) for name in KEPT}
        counts |= {name: len(parts) for name, parts in self._further.items()}
        return ", ".join(counted(count, *KEPT_WORDS[name]) for name, count in counts.items() if count)

    def given(self) -> dict[str, Any]:
        """The parameters of the job; what was left empty keeps its usual value."""
        values = self.cleaned_data
        wishes = {name: value for name, value in values.items() if name in FIELDS and value not in (None, "", [])}
        wishes |= {name: self.asked[name] for name in KEPT if self.asked.get(name)}
        if demands := relay_demands.filled_in(values, self._demand_rows):
            wishes["demands"] = [demand for _, demand in demands]
        for collection, kind in LAYOUTS.items():
            parts = [self._layout_values(number) for number in self._laid_out(kind)]
            parts += self._further[collection]
            if parts:
                wishes[collection] = parts
        if values["air_kind"]:
            air = {name: values[name] for name in AIR if values[name] is not None}
            wishes["air"] = {"kind": values["air_kind"], **air}
        return wishes

    def full_clean(self) -> None:
        """A draft has no faults yet."""
        if not self.is_draft:
            super().full_clean()
            return
        self._errors, self.cleaned_data = ErrorDict(), {}

    def show(self, error: InvalidInput) -> None:
        """Put each fault beside the field it is about."""
        show_faults(self, InvalidInput(self._beside(fault) for fault in error.faults))

    def _beside(self, fault: FieldFault) -> FieldFault:
        first, *rest = fault.field.split("/")
        if first in LAYOUTS and rest:
            laid_out = self._laid_out(LAYOUTS[first])
            if int(rest[0]) >= len(laid_out):
                return fault
            number = laid_out[int(rest[0])]
            part = rest[1] if len(rest) > 1 and rest[1] in ("step_m", "height_m") else "layout"
            return FieldFault(f"{part}_{number}", fault.message)
        if first == "demands":
            asked = relay_demands.filled_in(self.cleaned_data, self._demand_rows)
            return relay_demands.beside(fault, [row for row, _ in asked])
        if first == "air":
            return FieldFault(rest[0] if rest and rest[0] in AIR else "air_kind", fault.message)
        # "sites" is about all of them together.
        return FieldFault("" if first == "sites" else first if first in self.fields else fault.field, fault.message)

    def _laid_out(self, kind: str) -> list[int]:
        return [n for n in range(len(self.choices.levels)) if self.cleaned_data.get(f"layout_{n}") == kind]

    def _layout_values(self, number: int) -> dict[str, Any]:
        values = {name: self.cleaned_data.get(f"{name}_{number}") for name in ("step_m", "height_m")}
        level = self.cleaned_data.get(f"level_{number}") or self.choices.levels[number].name
        return {"level": level, **{name: value for name, value in values.items() if value is not None}}

    def _start(self, name: str) -> Any:
        field = FIELDS[name]
        usual = None if field.is_required() else field.get_default(call_default_factory=True)
        value = self.asked.get(name, usual)
        return list(value) if isinstance(value, tuple) else value

    def _add(self, name: str, kind: type[forms.Field], label: str, hint: str = "") -> None:
        self.fields[name] = kind(label=label, help_text=hint, required=False, initial=self._start(name))

    def _yes_no(self, name: str, label: str) -> None:
        self.fields[name] = forms.BooleanField(label=label, required=False, initial=self._start(name))

    def _one_of(self, name: str, label: str, names: Sequence[str]) -> None:
        options = _with(names, [self.asked.get(name)])
        initial = self.asked.get(name) or next(iter(names), "")
        self.fields[name] = forms.ChoiceField(
            choices=[(one, one) for one in options], label=label, initial=initial, error_messages=MISSING
        )

    def _many(self, name: str, label: str, names: Sequence[str]) -> None:
        if len(names) > MOST_BOXES:
            self.fields[name] = LinesOfNames(
                label=label, required=False, initial=self._start(name), help_text="One name on each line."
            )
            return
        typed = self.data.getlist(name) if hasattr(self.data, "getlist") else []
        options = _with(names, [*self.asked.get(name, ()), *typed])
        hint = "" if options else "There is none to choose from here."
        self.fields[name] = ManyNames(
            choices=[(one, one) for one in options],
            label=label,
            required=False,
            initial=self._start(name),
            help_text=hint,
        )

    def _demands(self) -> None:
        """A row for each demand, and one to begin with."""
        asked = list(self.asked.get("demands", ()))
        self._demand_rows = relay_demands.rows_sent(self.data) if self.is_bound else list(range(max(1, len(asked))))
        new = self._demand_rows[-1] if self.is_draft and relay_demands.ANOTHER in self.data else None
        for row in self._demand_rows:
            begin = asked[row] if row < len(asked) else {}
            self.fields |= relay_demands.row_fields(row, begin, is_new=row == new)

    def _demand_parts(self) -> dict[str, Any]:
        """What the group of demands has beside its title: rows of fields, and names to choose from."""
        return {
            "template": "frontend/_relay_demands.html",
            "rows": [
                {"key": row, "fields": [self[relay_demands.field_name(part, row)] for part in relay_demands.PARTS]}
                for row in self._demand_rows
            ],
            "names": [*self.choices.zones, *self.choices.receivers],
            "names_list": relay_demands.NAMES_LIST,
            "is_one_less": relay_demands.TAKE_OFF in self.data,
        }

    def _layout(self, number: int, level: Any) -> None:
        kind, values = self._taken_layout(level.name)
        options = [("", "no further sites"), ("grid", "on a grid"), ("edges", "along its walls and edges")]
        self.fields[f"level_{number}"] = forms.CharField(widget=forms.HiddenInput, required=False, initial=level.name)
        self.fields[f"layout_{number}"] = forms.ChoiceField(
            choices=options, label=level.name, required=False, initial=kind
        )
        usual = {"step_m": USUAL_STEP_M, "height_m": min(3.0, level.clear_height_m)}
        for name, words in (("step_m", "a site every (m)"), ("height_m", "height above the floor (m)")):
            self.fields[f"{name}_{number}"] = NumberField(
                label=f"{level.name}: {words}", required=False, initial=values.get(name, usual[name])
            )

    def _taken_layout(self, level: str) -> tuple[str, dict[str, Any]]:
        """The first layout that was asked for on a level; the rest stay in `_further`."""
        for collection, kind in LAYOUTS.items():
            for one in self._further[collection]:
                if one["level"] == level:
                    self._further[collection].remove(one)
                    return kind, one
        return "", {}

    def _air(self) -> None:
        asked = self.asked.get("air") or {}
        kinds = [
            ("", "is not limited"),
            ("repeated", "every sender repeats every packet"),
            ("routed", "each packet goes along its route"),
        ]
        self.fields["air_kind"] = forms.ChoiceField(
            choices=kinds, label="Air time", required=False, initial=asked.get("kind", "")
        )
        labels = {
            "packet_octets": (WholeNumberField, "Length of a packet (octets)"),
            "packets": (WholeNumberField, "Packets a frame, where they are repeated"),
            "refresh_hz": (NumberField, "Frames a second"),
            "share": (NumberField, "Share of the time they may take"),
        }
        for name, (kind, label) in labels.items():
            self.fields[name] = kind(label=label, required=False, initial=asked.get(name, USUAL_AIR[name]))


def _with(names: Sequence[str], more: Iterable[Any]) -> list[str]:
    """The names, and those of an earlier question or of the form that are no longer there."""
    return [*names, *dict.fromkeys(str(one) for one in more if one and one not in names)]
