"""A small tour with something of everything that has an address, and calls that are right for it."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

from django.db import transaction
from django.test import override_settings
from PIL import Image

from showplan.records.models import Invitation, Job, Node, Project, Reading, Token, User, Venue
from showplan.services.editing import edit
from showplan.services.exchange import project_document, table_of, venue_document
from showplan.services.jobs.starting import start_job
from showplan.services.members import invite, remove_member
from showplan.services.nouns import NOUNS, by_path
from showplan.services.rights import Caller
from tests.api.bodies import Given, change_to, new_body, room_for_more
from tests.api.client import api_for, made, token_for
from tests.builders import add_member, show_tour
from tests.relay_jobs import finished_job
from tests.tours import a_project, a_user, by

V1 = "/api/v1/"
NAMES = {"formulas": "free_space_loss_db", "reference": "materials"}
VALID_QUERY: Mapping[str, dict[str, Any]] = {
    f"{V1}venues/{{venue_id}}/coverage/": {"level": "Hall", "network": "Show", "step_m": 2},
    f"{V1}venues/{{venue_id}}/coverage.png": {"level": "Hall", "network": "Show", "sender": "N0"},
    f"{V1}venues/{{venue_id}}/coverage.npz": {"level": "Hall", "network": "Show", "step_m": 2},
    f"{V1}venues/{{venue_id}}/coverage.csv": {"level": "Hall", "network": "Show", "house": "empty"},
    f"{V1}venues/{{venue_id}}/calibration-fit/": {"network": "Show"},
    f"{V1}venues/{{venue_id}}/air/strategies/": {"network": "Show"},
    f"{V1}projects/{{project_id}}/venues/import/": {"name": "Second hall"},
    f"{V1}formulas/{{name}}/value/": {"distance_m": 10, "frequency_mhz": 2440},
}


def _png() -> bytes:
    file = BytesIO()
    Image.new("L", (40, 30), 200).save(file, "PNG")
    return file.getvalue()


PICTURE = _png()


@dataclass(frozen=True)
class WholeTour:
    """The tour, its people, and what is there by the last noun of its address: identifiers and versions.

    The last record of each noun hangs on nothing, and nothing hangs on it. `pictured` is a level with a plan picture,
    `undoable` a revision that can be undone, `secret` that of an open invitation.
    """

    project: Project
    venue: Venue
    given: Given
    people: Mapping[str, User]
    removed_token: str
    secret: str
    undoable: int
    pictured: str
    records: Mapping[str, list[tuple[str, int]]]

    def there(self, path: str) -> list[tuple[str, int]]:
        """Identifiers and versions of the records that a described address is about."""
        if path.endswith("/plan-picture/"):
            return [(self.pictured, dict(self.records["levels"])[self.pictured])]
        noun = "projects" if path.endswith("projects/{project_id}/") else last_noun(path)
        return self.records.get(noun, [("", 0)])

    def known(self, path: str, record_id: str | None = None) -> dict[str, str]:
        """Values of the parameters of a described address."""
        ids = {"project_id": str(self.project.pk), "venue_id": str(self.venue.pk), "level_id": self.pictured}
        return ids | {"record_id": record_id or self.there(path)[-1][0], "name": NAMES.get(last_noun(path), "")}

    def address(self, path: str) -> str:
        """A described address with what is there in the place of its parameters."""
        return path.format(**self.known(path))

    def body(self, path: str, method: str, number: int = 20) -> Any:
        """A body that is accepted: JSON values, a table or a picture; numbers from 10 to 39 give different ones."""
        noun = by_path().get(last_noun(path))
        if path.endswith("/plan-picture/"):
            return PICTURE
        if path.endswith(".csv"):
            table = by_path()[last_noun(path).removesuffix(".csv")]
            return table_of(table, self.venue if table.parent == "venue" else self.project)
        if path.endswith("/import/"):
            return venue_document(self.venue) if "venues" in path else project_document(self.project)
        if path.endswith("/bulk/"):
            assert noun is not None
            key, version = self.there(path)[-1]
            parts = {"create": [new_body(noun, self.given, number)], "update": [{"id": key, "version": version}]}
            chosen = (("create", "update"), ("create",), ("update",))[number % 3]
            return {name: parts[name] for name in chosen}
        if noun is not None:
            return new_body(noun, self.given, number) if method == "post" else change_to(noun)
        return {
            "projects": {"name": "Winter walk"},
            "members": {"role": "editor"},
            "invitations": {"role": "viewer"},
            "accept": {"secret": self.secret},
            "undo": {"revision": self.undoable},
            "radio-channels": {},
            "calibration-fit": {},
            "calibration-in-use": {"name": None},
            "jobs": {"kind": "coverage-of-levels", "parameters": {"step_m": 1 + number / 10}},
            "apply": {"placement": 0, "make_missing": True},
            "tokens": {"name": "export", "scopes": ["read"]},
        }[last_noun(path)]


@contextmanager
def whole_tour(media: Path) -> Iterator[WholeTour]:
    """The tour, as long as the block lasts; then everything written since is rolled back."""
    with override_settings(MEDIA_ROOT=media), rolled_back():
        yield _make()


@contextmanager
def rolled_back() -> Iterator[None]:
    """Whatever is written inside is gone afterwards."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def last_noun(path: str) -> str:
    """The noun that a described address is about."""
    verbs = ("bulk", "value", "cancel")
    words = [word for word in path.split("/") if word and "{" not in word and word not in verbs]
    return words[-1]


def _make() -> WholeTour:
    names = ("owner", "editor", "viewer", "bystander", "outsider", "removed")
    people = {name: a_user(f"{number}-{name}") for number, name in enumerate(names)}
    owner = people["owner"]
    venue = show_tour(owner)
    project = venue.project
    for name, role in (("editor", "editor"), ("viewer", "viewer"), ("removed", "editor"), ("bystander", "viewer")):
        add_member(venue, owner, people[name], role)
    a_project(people["outsider"], "Another show")
    given = room_for_more(venue, owner)
    _walk_test(venue, owner)
    api = api_for(owner)
    for noun in NOUNS:
        made(api.post(given.collection(noun), new_body(noun, given, 0)))
    project.refresh_from_db()
    undoable = project.revision
    picture = f"venues/{given.venue}/levels/{given.level}/plan-picture/"
    assert api.send("PUT", picture, PICTURE, "image/png", If_Match="*").status_code == 200
    invite(Caller(owner), project, role="viewer")
    _, secret = invite(Caller(owner), project, role="editor")
    removed_token = token_for(people["removed"])
    remove_member(Caller(owner), project, project.memberships.get(user=people["removed"]).pk, None)
    project.refresh_from_db()
    return WholeTour(
        project, venue, given, people, removed_token, secret, undoable, given.level, _records(project, venue, owner)
    )


def _walk_test(venue: Venue, owner: User) -> None:
    """Four readings of the gateway, enough for a fit."""
    level, gateway = venue.levels.get(name="Hall"), Node.objects.get(project=venue.project, label="N0")
    with edit(venue.project, by(owner)) as change:
        change.create(
            [
                Reading(
                    level=level,
                    x_m=4.0 + 6 * i,
                    y_m=10.0,
                    height_m=1.2,
                    transmitter=gateway,
                    receiver_type=gateway.node_type,
                    received_dbm=-60.0 - 4 * i,
                    taken_at=datetime(2027, 4, 1, 10, i, tzinfo=UTC),
                )
                for i in range(4)
            ]
        )


def _finished_job(venue: Venue, owner: User) -> Any:
    job = start_job(Caller(owner), venue, "coverage-of-levels", {"step_m": 2})
    Job.objects.filter(pk=job.pk).update(state="done", result={"step_m": 2, "levels": []})
    return job.pk


def _records(project: Project, venue: Venue, owner: User) -> dict[str, list[tuple[str, int]]]:
    rows: dict[str, Any] = {
        noun.path: noun.within(venue if noun.parent == "venue" else project).order_by("created_at") for noun in NOUNS
    }
    rows["members"] = project.memberships.order_by("created_at")
    rows["invitations"] = Invitation.objects.filter(project=project)
    rows["projects"] = Project.objects.filter(pk=project.pk)
    found = {name: list(one.values_list("pk", "version")) for name, one in rows.items()}
    found["jobs"] = [(_finished_job(venue, owner), 1)]
    found["apply"] = [(finished_job(venue, owner, ["Bar shelf"]).pk, 1)]
    token_for(owner, name="spare")
    found["tokens"] = [(Token.objects.get(name="spare").pk, 1)]
    return {name: [(str(key), version) for key, version in one] for name, one in found.items()}
