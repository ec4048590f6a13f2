"""Who works on the demo tour: an owner who can sign in, an editor in each crew, a viewer."""

from dataclasses import dataclass

from showplan.records.models import Crew, Membership, Project, User
from showplan.services.demo.identity import OWNER_USERNAME, key

COSTUME_CREW = "Costume electrics"
SCENIC_CREW = "Scenic electrics"
CREWS = (COSTUME_CREW, SCENIC_CREW)


@dataclass(frozen=True)
class _Person:
    username: str
    role: str
    crew: str | None


_PEOPLE = (
    _Person("demo-costume", Membership.Role.EDITOR, COSTUME_CREW),
    _Person("demo-scenic", Membership.Role.EDITOR, SCENIC_CREW),
    _Person("demo-viewer", Membership.Role.VIEWER, None),
)


def find_or_make_owner(password: str) -> tuple[User, bool]:
    """The demo's owner, and whether the account was made now, with `password`; an old account keeps its own."""
    found = User.objects.filter(username=OWNER_USERNAME).first()
    if found is not None:
        return found, False
    return User.objects.create_user(OWNER_USERNAME, password=password, id=key("user", OWNER_USERNAME)), True


def crews_of(project: Project) -> list[Crew]:
    """The two crews, not yet written."""
    return [Crew(id=key("crew", name), project=project, name=name) for name in CREWS]


def other_memberships(project: Project, crews: list[Crew]) -> list[Membership]:
    """Memberships of everybody but the owner, not yet written; accounts that are missing are made.

    A new account has no usable password: nobody can sign in with it until the owner of the server sets one.
    """
    by_name = {crew.name: crew for crew in crews}
    there = {user.username: user for user in User.objects.filter(username__in=[p.username for p in _PEOPLE])}
    return [
        Membership(
            id=key("membership", person.username),
            project=project,
            user=there.get(person.username) or _without_password(person.username),
            role=person.role,
            crew=by_name[person.crew] if person.crew else None,
        )
        for person in _PEOPLE
    ]


def _without_password(username: str) -> User:
    return User.objects.create_user(username, password=None, id=key("user", username))
