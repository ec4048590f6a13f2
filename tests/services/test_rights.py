"""Who may see and change what: not yours is not there, yours but read-only names what is missing."""

from uuid import uuid4

import pytest
from django.contrib.auth.models import AnonymousUser

from showplan.records.models import Change, Token, User
from showplan.services.errors import NotAllowed, NotFound
from showplan.services.rights import (
    Caller,
    may_edit,
    one_of,
    project_for,
    projects_of,
    refuse_unless_editor,
    refuse_unless_owner,
    role_in,
    venue_for,
)
from tests.conftest import Tour
from tests.tours import a_project

pytestmark = pytest.mark.django_db


def token_of(user: User, tour: Tour | None = None, **scopes: bool) -> Caller:
    """A caller with a token in memory."""
    project = tour.project if tour else None
    return Caller(user, Token(user=user, project=project, name="night job", **scopes))


def test_nobody_sees_nothing(tour: Tour, outsider: User) -> None:
    for caller in (Caller(AnonymousUser()), Caller(outsider), token_of(outsider)):
        assert not projects_of(caller).exists()
        assert role_in(caller, tour.project) is None
        assert not may_edit(caller, tour.project)
        for call in (
            lambda caller=caller: project_for(caller, tour.project.pk),
            lambda caller=caller: venue_for(caller, tour.venue.pk),
        ):
            with pytest.raises(NotFound, match="there is no"):
                call()
    with pytest.raises(NotFound, match="there is no project"):
        refuse_unless_editor(Caller(outsider), tour.project)


def test_roles_open_what_they_should(tour: Tour, owner: User, editor: User, viewer: User) -> None:
    for user, edits, owns in ((owner, True, True), (editor, True, False), (viewer, False, False)):
        caller = Caller(user)
        assert project_for(caller, str(tour.project.pk)) == tour.project
        assert venue_for(caller, tour.venue.pk) == tour.venue
        assert may_edit(caller, tour.project) == edits
        for refuse, allowed in ((refuse_unless_editor, edits), (refuse_unless_owner, owns)):
            if allowed:
                refuse(caller, tour.project)
            else:
                with pytest.raises(NotAllowed, match=f"your role in 'Lantern walk' is {role_in(caller, tour.project)}"):
                    refuse(caller, tour.project)


def test_a_token_opens_no_more_than_its_scopes_and_its_project(tour: Tour, owner: User) -> None:
    other = a_project(owner, "Second show")
    bound = token_of(owner, tour, can_write=True)
    assert list(projects_of(bound)) == [tour.project]
    with pytest.raises(NotFound):
        project_for(bound, other.pk)
    refuse_unless_owner(bound, tour.project)
    reader = token_of(owner, can_read=True, can_write=False)
    assert projects_of(reader).count() == 2
    with pytest.raises(NotAllowed, match=r"scope 'write'; token 'night job' has: read$"):
        refuse_unless_editor(reader, tour.project)
    with pytest.raises(NotAllowed, match=r"has: none$"):
        token_of(owner, can_read=False).refuse_without("read")


def test_an_identifier_that_is_none_is_not_there(tour: Tour, owner: User) -> None:
    for key in (uuid4(), "7", "", "\x00", "' or 1=1"):
        with pytest.raises(NotFound):
            one_of(projects_of(Caller(owner)), key, "project")


def test_the_history_names_the_door_in_the_room_it_has(owner: User) -> None:
    assert Caller(owner).actor().via == "page"
    assert token_of(owner).actor().via == "token night job"
    long = Caller(owner, Token(user=owner, name="x" * 80)).actor().via
    assert long == "token " + "x" * 34
    assert len(long) == Change._meta.get_field("via").max_length
