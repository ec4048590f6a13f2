"""Members and invitations: who may do what, and a project that always keeps an owner."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from showplan.records.models import Crew, Invitation, Membership, User
from tests.conftest import PASSWORD
from tests.frontend.editing.desk import fill_in, forged, forms_of, send
from tests.frontend.pages import signed_in, words_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def here(tour) -> str:
    return f"/projects/{tour.project.pk}/"


@pytest.fixture
def link(tour, owner, here) -> str:
    """The path of a fresh invitation as editor in the crew Costume."""
    crew = Crew.objects.get(project=tour.project)
    page = fill_in(signed_in(owner), f"{here}invitations/", role="editor", crew=crew.pk, days="3")
    assert page.status_code == 200
    assert "no-store" in page["Cache-Control"]
    return page.context["link"].removeprefix("http://testserver")


def member_of(tour, user) -> Membership:
    return tour.project.memberships.get(user=user)


def test_an_owner_changes_role_and_crew(tour, owner, viewer, here):
    crew = Crew.objects.get(project=tour.project)
    address = f"{here}members/{member_of(tour, viewer).pk}/"
    assert fill_in(signed_in(owner), address, role="editor", crew=crew.pk).url == f"{here}members/"
    assert (member_of(tour, viewer).role, member_of(tour, viewer).crew) == ("editor", crew)


def test_the_last_owner_stays(tour, owner, viewer, here):
    client, member = signed_in(owner), member_of(tour, owner)
    for address, changes in (
        (f"{here}members/{member.pk}/", {"role": "viewer"}),
        (f"{here}members/{member.pk}/remove/", {}),
    ):
        page = fill_in(client, address, **changes)
        assert page.status_code == 200, address
        assert "would be left without an owner: make somebody else owner first" in words_of(page), address
    assert member_of(tour, owner).role == "owner"
    fill_in(client, f"{here}members/{member_of(tour, viewer).pk}/", role="owner")
    assert fill_in(client, f"{here}members/{member.pk}/remove/").url == "/"


def test_an_owner_removes_and_anybody_leaves(tour, owner, editor, viewer, here):
    fill_in(signed_in(owner), f"{here}members/{member_of(tour, editor).pk}/remove/")
    assert signed_in(editor).get(here).status_code == 404
    client = signed_in(viewer)
    assert "Leave Lantern walk?" in words_of(client.get(f"{here}members/{member_of(tour, viewer).pk}/remove/"))
    assert fill_in(client, f"{here}members/{member_of(tour, viewer).pk}/remove/").url == "/"
    assert client.get(here).status_code == 404


def test_only_owners_manage_people(tour, owner, editor, viewer, outsider, here):
    member = member_of(tour, owner)
    fill_in(signed_in(owner), f"{here}invitations/")
    invitation = Invitation.objects.get()
    addresses = [
        f"{here}members/{member.pk}/",
        f"{here}members/{member.pk}/remove/",
        f"{here}invitations/",
        f"{here}invitations/{invitation.pk}/withdraw/",
    ]
    for user, status in ((owner, 200), (editor, 403), (viewer, 403), (outsider, 404)):
        client = signed_in(user)
        for address in addresses:
            assert client.get(address).status_code == status, (user.username, address)
            if status != 200:
                answer = forged(client, address, role="owner", days="7", version="1")
                assert answer.status_code == status, address
    assert "Change" not in words_of(signed_in(viewer).get(f"{here}members/")).replace("Change name", "")
    assert Invitation.objects.count() == 1
    for address in addresses:
        assert Client().get(address).url == f"/sign-in/?next={address}"


def test_the_link_is_shown_once(tour, owner, here, link):
    secret = link.split("/")[2]
    assert len(secret) > 40
    words = words_of(signed_in(owner).get(f"{here}invitations/"))
    assert "open until" in words
    assert secret not in words
    assert secret not in words_of(signed_in(owner).get(f"{here}history/"))


def test_too_many_days_are_refused_beside_the_field(tour, owner, here):
    page = fill_in(signed_in(owner), f"{here}invitations/", days="31")
    assert "Must be from 1 to 30, not 31." in words_of(page)
    assert not Invitation.objects.exists()


def test_a_withdrawn_link_opens_nothing(tour, owner, here, link, outsider):
    client = signed_in(outsider)
    assert client.get(link).status_code == 200
    fill_in(signed_in(owner), f"{here}invitations/{Invitation.objects.get().pk}/withdraw/")
    answer = client.get(link)
    assert answer.status_code == 404
    assert "unknown, used, withdrawn or expired" in words_of(answer)


def test_somebody_with_an_account_signs_in_first_and_comes_back(tour, link, here, outsider):
    outsider.set_password(PASSWORD)
    outsider.save()
    client = Client(enforce_csrf_checks=True)
    page = client.get(link)
    assert "You are invited as editor , in the crew Costume." in words_of(page)
    sign_in = f"/sign-in/?next={link}"
    assert sign_in in page.content.decode()
    answer = fill_in(client, sign_in, username=outsider.username, password=PASSWORD)
    assert answer.url == link
    assert fill_in(client, link).url == here
    assert (member_of(tour, outsider).role, member_of(tour, outsider).crew.name) == ("editor", "Costume")
    assert client.get(link).status_code == 404


def test_a_member_is_one_already(tour, link, viewer):
    page = fill_in(signed_in(viewer), link)
    assert "You are a member of 'Lantern walk' already." in words_of(page)
    assert member_of(tour, viewer).role == "viewer"


def test_somebody_new_makes_an_account_on_the_way_in(tour, link, here):
    client = Client(enforce_csrf_checks=True)
    new = {"username": "nora-new", "password": "harbour-lamp-42", "password_again": "harbour-lamp-42"}
    answer = fill_in(client, link, **new)
    assert answer.url == here
    assert "You are editor of Lantern walk now." in words_of(client.get(here))
    assert member_of(tour, User.objects.get(username="nora-new")).role == "editor"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"password_again": "other"}, "The two passwords differ."),
        ({"password": "abc", "password_again": "abc"}, "This password is too short."),
        ({"password": "password", "password_again": "password"}, "This password is too common."),
        ({"username": "Odile-Owner"}, "Somebody is called 'Odile-Owner' already"),
        ({"username": "no spaces please"}, "Enter a valid username."),
        ({"username": ""}, "This is missing."),
    ],
)
def test_a_bad_account_is_refused_and_the_link_stays_open(tour, link, changes, words):
    client = Client(enforce_csrf_checks=True)
    new = {"username": "nora-new", "password": "harbour-lamp-42", "password_again": "harbour-lamp-42"}
    page = fill_in(client, link, **{**new, **changes})
    assert page.status_code == 200
    assert words in words_of(page)
    assert "harbour-lamp-42" not in page.content.decode()
    assert User.objects.count() == 3
    assert send(client, page, link, **new).status_code == 302


def test_an_account_takes_an_open_invitation(tour, link):
    client = Client(enforce_csrf_checks=True)
    page = client.get(link)
    Invitation.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    new = {"username": "nora-new", "password": "harbour-lamp-42", "password_again": "harbour-lamp-42"}
    assert send(client, page, link, **new).status_code == 404
    assert not User.objects.filter(username="nora-new").exists()
    assert forms_of(page)[0]["action"].endswith("/new-account/")
