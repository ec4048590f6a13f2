"""Members and invitations, below the pages and the API."""

from contextlib import contextmanager
from datetime import timedelta

import pytest
from django.utils import timezone

from showplan.records.models import Crew, Invitation, Membership, User
from showplan.services import members
from showplan.services.editing import edit
from showplan.services.errors import InvalidInput, NotAllowed, NotFound, RuleBroken, StaleWrite
from showplan.services.members import (
    accept,
    add_member,
    invitation_behind,
    invite,
    members_of,
    remove_member,
    update_member,
    withdraw,
)
from showplan.services.rights import Caller
from tests.conftest import Tour
from tests.tours import a_project, by

pytestmark = pytest.mark.django_db


def member(tour: Tour, user: User) -> Membership:
    """A user's membership."""
    return Membership.objects.get(project=tour.project, user=user)


def test_a_changed_member_keeps_the_rest(tour: Tour, owner: User, viewer: User) -> None:
    crew = Crew.objects.get(project=tour.project)
    changed = update_member(Caller(owner), tour.project, member(tour, viewer).pk, {"crew": crew}, 1)
    assert (changed.role, changed.crew, changed.version) == ("viewer", crew, 2)
    with pytest.raises(StaleWrite):
        update_member(Caller(owner), tour.project, changed.pk, {"role": "editor"}, 1)
    assert {one.user.get_username() for one in members_of(tour.project)} == {
        "odile-owner",
        "edgar-editor",
        "vera-viewer",
    }


def test_a_crew_of_another_project_is_refused(tour: Tour, owner: User, viewer: User) -> None:
    other = a_project(owner, "Second show")
    with edit(other, by(owner)) as change:
        [crew] = change.create([Crew(project=other, name="Sound")])
    with pytest.raises(InvalidInput, match="another project"):
        update_member(Caller(owner), tour.project, member(tour, viewer).pk, {"crew": crew}, None)
    with pytest.raises(InvalidInput, match="another project"):
        invite(Caller(owner), tour.project, role="viewer", crew=crew)


def test_a_member_of_another_project_is_not_there(tour: Tour, owner: User) -> None:
    other = a_project(owner, "Second show")
    theirs = Membership.objects.get(project=other)
    with pytest.raises(NotFound):
        update_member(Caller(owner), tour.project, theirs.pk, {"role": "viewer"}, None)
    with pytest.raises(NotFound):
        remove_member(Caller(owner), tour.project, theirs.pk, None)


def test_rights_are_asked_again_inside_the_lock(
    tour: Tour, owner: User, editor: User, viewer: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The caller is removed between the first look and the lock: the write must not go through."""

    @contextmanager
    def edit_after_removal(project, actor):
        Membership.objects.filter(user=owner).delete()
        with edit(project, actor) as change:
            yield change

    update_member(Caller(owner), tour.project, member(tour, editor).pk, {"role": "owner"}, None)
    monkeypatch.setattr(members, "edit", edit_after_removal)
    with pytest.raises(NotFound):
        remove_member(Caller(owner), tour.project, member(tour, viewer).pk, None)
    with pytest.raises(NotFound):
        update_member(Caller(owner), tour.project, member(tour, viewer).pk, {"role": "owner"}, None)
    assert member(tour, viewer).role == "viewer"


def test_without_an_owner_there_is_no_project(tour: Tour, owner: User) -> None:
    for call in (
        lambda: remove_member(Caller(owner), tour.project, member(tour, owner).pk, None),
        lambda: update_member(Caller(owner), tour.project, member(tour, owner).pk, {"role": "editor"}, None),
    ):
        with pytest.raises(RuleBroken, match="left without an owner"):
            call()
    assert member(tour, owner).role == "owner"


def test_a_member_is_added_once(tour: Tour, owner: User, outsider: User) -> None:
    assert add_member(tour.project, outsider, "viewer", by(owner)).role == "viewer"
    with pytest.raises(InvalidInput):
        add_member(tour.project, outsider, "editor", by(owner))


def test_an_invitation_is_open_until_used_withdrawn_or_expired(tour: Tour, owner: User, outsider: User) -> None:
    invitation, secret = invite(Caller(owner), tour.project, role="editor", days=30)
    assert secret not in str(list(Invitation.objects.values()))
    assert invitation_behind(secret) == invitation
    Invitation.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    with pytest.raises(NotFound, match="unknown, used, withdrawn or expired"):
        accept(Caller(outsider), secret)
    Invitation.objects.update(expires_at=timezone.now() + timedelta(seconds=60))
    assert accept(Caller(outsider), secret).role == "editor"
    with pytest.raises(NotFound):
        invitation_behind(secret)
    other, second = invite(Caller(owner), tour.project, role="viewer")
    withdraw(Caller(owner), tour.project, other.pk, 1)
    with pytest.raises(NotFound):
        invitation_behind(second)


def test_only_owners_invite_for_a_month_at_most(tour: Tour, owner: User, editor: User) -> None:
    with pytest.raises(NotAllowed):
        invite(Caller(editor), tour.project, role="viewer")
    for days in (0, 31):
        with pytest.raises(InvalidInput, match="days: must be from 1 to 30"):
            invite(Caller(owner), tour.project, role="viewer", days=days)
    with pytest.raises(InvalidInput, match="role"):
        invite(Caller(owner), tour.project, role="boss")
