"""Loading the demo tour: once; later calls find it and change nothing."""

import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from random import Random

from django.db import transaction

from showplan.records.base import Record
from showplan.records.models import Crew, Project
from showplan.services.demo.identity import OWNER_USERNAME, PROJECT_ID, PROJECT_NAME
from showplan.services.demo.kit import kit_of
from showplan.services.demo.meadow import meadow
from showplan.services.demo.netloft import netloft
from showplan.services.demo.people import crews_of, find_or_make_owner, other_memberships
from showplan.services.demo.playhouse import playhouse
from showplan.services.demo.walks import walk_tests
from showplan.services.editing import Actor, create_project, edit

_SEED = 20260824
_VENUES = (playhouse, meadow, netloft)
# No letters or digits that are taken for one another when read off a terminal.
_PASSWORD_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
_NOTE = "An invented tour to try things on: change it as you like, delete it when you need it no longer."


@dataclass(frozen=True)
class DemoResult:
    """The demo's project. `password` is told once, when the owner's account is made; `created`: made by this call."""

    project: Project
    username: str
    password: str | None
    created: bool


def load_demo() -> DemoResult:
    """The demo tour, made if it is not there. All or nothing: an error leaves no part of it behind."""
    with transaction.atomic():
        found = Project.objects.filter(pk=PROJECT_ID).first()
        if found is not None:
            return DemoResult(found, OWNER_USERNAME, None, created=False)
        password = _new_password()
        owner, is_new = find_or_make_owner(password)
        actor = Actor(owner, "demo")
        chance = Random(_SEED)
        project = create_project(name=PROJECT_NAME, note=_NOTE, key=PROJECT_ID, owner=owner, actor=actor)
        crews = _write_people(project, actor)
        kit = kit_of(project, crews, chance)
        _write(project, actor, kit.groups)
        drawings = [draw(project, kit.nodes) for draw in _VENUES]
        for drawing in drawings:
            _write(project, actor, drawing.groups())
        _write(project, actor, [walk_tests(drawings, kit.nodes, chance)])
    return DemoResult(project, OWNER_USERNAME, password if is_new else None, created=True)


def _write_people(project: Project, actor: Actor) -> list[Crew]:
    crews = crews_of(project)
    with edit(project, actor) as change:
        change.create(crews)
        change.create(other_memberships(project, crews))
    return crews


def _write(project: Project, actor: Actor, groups: Iterable[Sequence[Record]]) -> None:
    """One edit: each group holds records of one class, in the order in which they depend on each other."""
    with edit(project, actor) as change:
        for group in groups:
            change.create(group)


def _new_password() -> str:
    return "-".join("".join(secrets.choice(_PASSWORD_LETTERS) for _ in range(4)) for _ in range(4))
