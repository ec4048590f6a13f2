"""Forms of projects, members, invitations, tokens and new accounts."""

from typing import Any

from django import forms

from frontend.editing.fields import LONGEST_TEXT, MISSING
from frontend.editing.record_form import VersionedForm
from showplan.records.base import LONGEST_NAME
from showplan.records.models import Crew, Membership, Project
from showplan.services.members import LONGEST_INVITATION_DAYS
from showplan.services.rights import SCOPES, Caller, projects_of
from showplan.services.tokens import LONGEST_DAYS

ROLE_WORDS = {
    "owner": "owner: may do everything, members and the project itself too",
    "editor": "editor: may change every record",
    "viewer": "viewer: may look at everything",
}
ROLES = [(role, ROLE_WORDS[role]) for role, _ in Membership.Role.choices]
SCOPE_WORDS = {
    "read": "read: look at records, plans and history",
    "write": "write: change records",
    "compute": "compute: start long computations",
}


def text(label: str, **options: Any) -> forms.CharField:
    """One line of text."""
    return forms.CharField(**{"label": label, "max_length": LONGEST_NAME, "error_messages": MISSING, **options})


class ProjectForm(VersionedForm):
    """A project's own fields."""

    name = text("Name", help_text="The show or the tour.")
    note = forms.CharField(
        label="Note", required=False, widget=forms.Textarea(attrs={"rows": 4}), max_length=LONGEST_TEXT, strip=False
    )


class SameNameForm(VersionedForm):
    """The name of what is to be deleted, typed again."""

    name = text("Name of the project", help_text="Type it exactly as it stands above.")

    def __init__(self, project: Project, data: Any = None) -> None:
        super().__init__(data, initial={"version": project.version}, label_suffix="")
        self.project = project

    def clean_name(self) -> str:
        """The name, if it is the project's."""
        name: str = self.cleaned_data["name"]
        if name != self.project.name.strip():
            raise forms.ValidationError(f"This is not the name of the project: {self.project.name}")
        return name


class MemberForm(VersionedForm):
    """A member's role and crew."""

    role = forms.ChoiceField(label="Role", choices=ROLES, error_messages=MISSING)
    crew = forms.ModelChoiceField(
        Crew.objects.none(), label="Crew", required=False, empty_label="in no crew", error_messages=MISSING
    )

    def __init__(self, project: Project, member: Membership | None = None, data: Any = None) -> None:
        start = {"role": member.role, "crew": member.crew_id, "version": member.version} if member else {}
        super().__init__(data, initial=start, label_suffix="")
        self.fields["crew"].queryset = project.crews.order_by("name", "id")  # type: ignore[attr-defined]


class InvitationForm(MemberForm):
    """What whoever opens the link becomes, and how long it opens."""

    days = forms.IntegerField(
        label="Days until the link closes",
        initial=7,
        help_text=f"From 1 to {LONGEST_INVITATION_DAYS}.",
        error_messages=MISSING,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )

    def __init__(self, project: Project, data: Any = None) -> None:
        super().__init__(project, None, data)
        self.fields["role"].initial = "editor"
        del self.fields["version"]


class TokenForm(forms.Form):
    """A key for a script."""

    name = text("Name", help_text="What the script is for.")
    scopes = forms.MultipleChoiceField(
        label="What it may do",
        choices=[(scope, SCOPE_WORDS[scope]) for scope in SCOPES],
        initial=["read"],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one."},
    )
    project = forms.ModelChoiceField(
        Project.objects.none(),
        label="Project",
        required=False,
        empty_label="every project of mine",
        error_messages=MISSING,
    )
    days = forms.IntegerField(
        label="Days until it expires",
        initial=90,
        help_text=f"From 1 to {LONGEST_DAYS}.",
        error_messages=MISSING,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )

    def __init__(self, caller: Caller, data: Any = None) -> None:
        super().__init__(data, label_suffix="")
        self.fields["project"].queryset = projects_of(caller).order_by("name", "id")  # type: ignore[attr-defined]


class AccountForm(forms.Form):
    """A new account behind an invitation."""

    username = text("Username", max_length=150, widget=forms.TextInput(attrs={"autocomplete": "username"}))
    password = text(
        "Password",
        max_length=4096,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="At least 8 characters, not a common one, not like your name.",
    )
    password_again = text(
        "Password again",
        max_length=4096,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
