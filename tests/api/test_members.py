"""Members: roles, leaving, removal; a project always keeps an owner."""

from typing import Any

import pytest
from django.test import Client

from showplan.records.models import Crew, Membership, User
from tests.api.client import ApiClient, api_for, items, pointers, problem
from tests.conftest import Tour

pytestmark = pytest.mark.django_db


@pytest.fixture
def members(tour: Tour) -> str:
    """The address of the tour's members."""
    return f"projects/{tour.project.pk}/members/"


def of(api: ApiClient, members: str, user: User) -> dict[str, Any]:
    """A user's membership as the API shows it."""
    return next(one for one in items(api.get(members)) if one["user"] == str(user.pk))


def test_every_member_sees_who_works_on_the_project(members: str, viewer_api, outsider_api, owner: User) -> None:
    roles = {one["username"]: one["role"] for one in items(viewer_api.get(members))}
    assert roles == {"odile-owner": "owner", "edgar-editor": "editor", "vera-viewer": "viewer"}
    one = of(viewer_api, members, owner)
    response = viewer_api.get(f"{members}{one['id']}/")
    assert (response.json(), response["ETag"]) == (one, '"1"')
    problem(outsider_api.get(members), 404)
    problem(outsider_api.get(f"{members}{one['id']}/"), 404)


def test_an_owner_changes_role_and_crew(members: str, tour: Tour, owner_api: ApiClient, viewer: User) -> None:
    crew = str(Crew.objects.get(project=tour.project).pk)
    one = of(owner_api, members, viewer)
    address = f"{members}{one['id']}/"
    problem(owner_api.patch(address, {"role": "editor"}), 428)
    response = owner_api.patch(address, {"role": "editor", "crew": crew}, 1)
    assert response.status_code == 200
    assert response.json() == of(owner_api, members, viewer) | {"role": "editor", "crew": crew, "version": 2}
    stale = problem(owner_api.patch(address, {"role": "viewer"}, 1), 412, "stale-write")
    assert stale["current"]["role"] == "editor"
    assert problem(owner_api.delete(address, 1), 412)["current"]["version"] == 2
    assert owner_api.patch(address, {"crew": None}, 2).json()["crew"] is None
    assert pointers(owner_api.patch(address, {"role": "boss", "user": "x", "crew": address}, 3)) == [
        "/crew",
        "/role",
        "/user",
    ]


def test_only_owners_change_members(members: str, editor_api, viewer_api, editor: User, viewer: User) -> None:
    for api, own, other in ((editor_api, editor, viewer), (viewer_api, viewer, editor)):
        for user in (own, other):
            address = f"{members}{of(api, members, user)['id']}/"
            problem(api.patch(address, {"role": "owner"}, 1), 403, "not-allowed")
        problem(api.delete(f"{members}{of(api, members, other)['id']}/", 1), 403, "not-allowed")


def test_the_last_owner_is_kept(members: str, tour: Tour, owner_api: ApiClient, owner: User, editor: User) -> None:
    address = f"{members}{of(owner_api, members, owner)['id']}/"
    for call in (
        lambda: owner_api.patch(address, {"role": "editor"}, 1),
        lambda: owner_api.delete(address, 1),
        lambda: owner_api.delete(address, "*"),
    ):
        document = problem(call(), 409, "rule-broken")
        assert "would be left without an owner" in document["detail"]
    first = tour.project.changes.filter(record_kind="Membership").earliest("id").revision
    problem(owner_api.post(f"projects/{tour.project.pk}/undo/", {"revision": first}), 409, "rule-broken")
    assert of(owner_api, members, owner)["role"] == "owner"
    second = of(owner_api, members, editor)
    assert owner_api.patch(f"{members}{second['id']}/", {"role": "owner"}, 1).status_code == 200
    assert owner_api.delete(address, 1).status_code == 204
    problem(owner_api.get(members), 404)


def test_anybody_may_leave(
    members: str, editor_api: ApiClient, viewer_api: ApiClient, editor: User, viewer: User
) -> None:
    reader = api_for(viewer, scopes=("read",))
    address = f"{members}{of(reader, members, viewer)['id']}/"
    problem(reader.delete(address, 1), 403)
    for api, user in ((editor_api, editor), (viewer_api, viewer)):
        assert api.delete(f"{members}{of(api, members, user)['id']}/", 1).status_code == 204
        problem(api.get(members), 404)


def test_who_is_removed_is_out_at_once(members: str, tour: Tour, owner_api: ApiClient, editor: User) -> None:
    wide, bound = api_for(editor), api_for(editor, project=tour.project)
    page = Client()
    page.force_login(editor)
    project, venue = f"projects/{tour.project.pk}/", f"venues/{tour.venue.pk}/"
    ways: list[Any] = [wide.get, bound.get, lambda path: page.get(f"/api/v1/{path}")]
    for get in ways:
        assert get(project).status_code == get(f"{venue}walls/").status_code == 200
    assert owner_api.delete(f"{members}{of(owner_api, members, editor)['id']}/", 1).status_code == 204
    for get in ways:
        for path in (
            project,
            members,
            f"{project}nodes/",
            f"{project}changes/",
            venue + "walls/",
            venue + "readiness/",
        ):
            assert get(path).status_code == 404
        assert get("projects/").json()["items"] == []
    problem(wide.post(f"{project}crews/", {"name": "late"}), 404)
    problem(bound.post(f"{venue}walls/bulk/", {"update_where": {"filter": {}, "set": {"height_m": 1}}}), 404)


def test_a_role_counts_from_the_next_call_on(members: str, tour: Tour, editor_api: ApiClient, editor: User) -> None:
    crews = f"projects/{tour.project.pk}/crews/"
    assert editor_api.post(crews, {"name": "Rigging"}).status_code == 201
    Membership.objects.filter(project=tour.project, user=editor).update(role="viewer")
    problem(editor_api.post(crews, {"name": "Sound"}), 403, "not-allowed")


def test_projects_are_the_callers_own(tour: Tour, owner_api: ApiClient, editor_api, outsider_api) -> None:
    project = f"projects/{tour.project.pk}/"
    response = outsider_api.post("projects/", {"name": "Own show", "note": "new"})
    assert response.status_code == 201
    assert outsider_api.get(response["Location"]).json() == response.json()
    assert [one["name"] for one in items(outsider_api.get("projects/"))] == ["Own show"]
    assert [one["name"] for one in items(editor_api.get("projects/"))] == ["Lantern walk"]
    problem(editor_api.patch(project, {"name": "Mine"}, 1), 403)
    problem(editor_api.delete(project, 1), 403)
    problem(owner_api.patch(project, {"name": "Fire walk"}), 428)
    changed = owner_api.patch(project, {"name": "Fire walk"}, 1)
    assert (changed.status_code, changed.json()["version"]) == (200, 2)
    assert problem(owner_api.delete(project, 1), 412)["current"] == changed.json()
    assert pointers(owner_api.patch(project, {"name": "", "revision": 1}, 2)) == ["/name", "/revision"]
    assert owner_api.get(project, If_None_Match=changed["ETag"]).status_code == 304
    assert owner_api.delete(project, 2).status_code == 204
    problem(owner_api.get(project), 404)
