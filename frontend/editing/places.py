"""Where an editing page is: which noun, in which project or venue, and the addresses around it."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.http import HttpRequest
from django.urls import reverse

from frontend.editing.page import caller_of
from showplan.records.models import Project, Venue
from showplan.services.errors import NotFound
from showplan.services.nouns import NOUNS, Noun, by_path
from showplan.services.record_writing import Parent, project_of
from showplan.services.rights import Caller, may_edit, project_for, refuse_unless_editor, venue_for


@dataclass(frozen=True)
class Place:
    """One noun in one project or venue, and who looks at it."""

    caller: Caller
    noun: Noun
    parent: Parent
    may_edit: bool

    @property
    def project(self) -> Project:
        """The project that the records belong to."""
        return project_of(self.parent)

    @property
    def venue(self) -> Venue | None:
        """The venue, where the noun hangs on one."""
        return self.parent if isinstance(self.parent, Venue) else None

    def owner_of(self, target: Noun) -> Parent:
        """The project or venue that records of another noun are chosen from."""
        return self.parent if target.parent == "venue" else self.project

    def address(self, page: str = "list", record_id: UUID | None = None) -> str:
        """The address of one of this noun's pages: list, new, edit, delete or history."""
        keys: dict[str, Any] = {"parent_id": self.parent.pk, "path": self.noun.path}
        if record_id is not None:
            keys["record_id"] = record_id
        return reverse(f"{self.noun.parent}-records-{page}", kwargs=keys)

    def context(self) -> dict[str, Any]:
        """What every template of these pages needs."""
        return {
            **sections(self.project, self.venue),
            "place": self,
            "noun": self.noun,
            "may_edit": self.may_edit,
            "here": self.noun.path,
            "list_address": self.address(),
        }


def place_for(request: HttpRequest, parent_kind: str, parent_id: UUID, path: str, *, to_edit: bool = False) -> Place:
    """The place behind an address. Raises NotFound, and NotAllowed where it is to edit and the caller may not."""
    caller = caller_of(request)
    parent = venue_for(caller, parent_id) if parent_kind == "venue" else project_for(caller, parent_id)
    noun = by_path().get(path)
    if noun is None or noun.parent != parent_kind:
        raise NotFound(f"a {parent_kind} has no records of the kind {path!r}")
    if to_edit:
        refuse_unless_editor(caller, project_of(parent))
    return Place(caller, noun, parent, to_edit or may_edit(caller, project_of(parent)))


def sections(project: Project, venue: Venue | None = None) -> dict[str, Any]:
    """The project, the venue, and the pages that stand beside each other in them."""
    return {
        "project": project,
        "venue": venue,
        "project_sections": [
            (noun.path, noun.plural, reverse("project-records-list", args=(project.pk, noun.path)))
            for noun in NOUNS
            if noun.parent == "project"
        ],
        "venue_sections": [
            (noun.path, noun.plural, reverse("venue-records-list", args=(venue.pk, noun.path)))
            for noun in NOUNS
            if venue is not None and noun.parent == "venue"
        ],
    }
