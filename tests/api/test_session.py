"""The API with a session, as pages use it: CSRF is enforced, a bearer token goes first."""

import pytest
from django.test import Client

from showplan.records.models import Crew, User
from tests.api.client import PROBLEM, problem, token_for
from tests.conftest import Tour

pytestmark = pytest.mark.django_db
JSON = "application/json"
CSRF, ANOTHER = "c" * 32, "d" * 32  # any 32 letters and digits will do: header and cookie must agree


@pytest.fixture
def page(owner: User) -> Client:
    """The owner's browser."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    return client


def test_a_session_reads_without_a_csrf_token(page: Client, tour: Tour) -> None:
    response = page.get(f"/api/v1/projects/{tour.project.pk}/")
    assert (response.status_code, response.json()["name"]) == (200, "Lantern walk")
    assert page.get("/api/v1/me/").json()["token"] is None


@pytest.mark.parametrize("method", ["post", "patch", "delete"])
def test_a_session_writes_only_with_the_csrf_token(page: Client, tour: Tour, method: str) -> None:
    crew = Crew.objects.get(project=tour.project)
    crews = f"/api/v1/projects/{tour.project.pk}/crews/"
    address = crews if method == "post" else f"{crews}{crew.pk}/"

    def call(**headers: str) -> int:
        headers = {name.replace("_", "-"): value for name, value in headers.items()}
        response = getattr(page, method)(
            address, {"name": "Rigging"}, content_type=JSON, headers={"If-Match": '"1"'} | headers
        )
        if response.status_code == 403:
            assert response["Content-Type"] == PROBLEM
            assert "CSRF" in problem(response, 403, "not-allowed")["detail"]
        return int(response.status_code)

    assert call() == 403
    assert call(X_CSRFToken=CSRF) == 403  # a header without the cookie
    page.cookies["csrftoken"] = CSRF
    assert call() == 403  # a cookie without the header
    assert call(X_CSRFToken=ANOTHER) == 403
    assert call(X_CSRFToken=CSRF, Origin="https://elsewhere.example") == 403
    assert Crew.objects.get(project=tour.project).version == 1
    assert call(X_CSRFToken=CSRF) in (200, 201, 204)


def test_a_token_needs_no_csrf_and_goes_before_the_session(page: Client, tour: Tour, viewer: User) -> None:
    headers = {"Authorization": f"Bearer {token_for(viewer)}"}
    me = page.get("/api/v1/me/", headers=headers).json()
    assert me["username"] == "vera-viewer"
    crews = f"/api/v1/projects/{tour.project.pk}/crews/"
    refused = page.post(crews, {"name": "x"}, content_type=JSON, headers=headers)
    assert "your role" in problem(refused, 403)["detail"]
    # A token that is refused does not fall back to the session.
    problem(page.get(crews, headers={"Authorization": "Bearer spt_no_such"}), 401)


def test_signing_out_and_being_made_inactive_end_the_session(page: Client, tour: Tour, owner: User) -> None:
    path = f"/api/v1/projects/{tour.project.pk}/"
    assert page.get(path).status_code == 200
    User.objects.filter(pk=owner.pk).update(is_active=False)
    problem(page.get(path), 401, "not-signed-in")
    User.objects.filter(pk=owner.pk).update(is_active=True)
    page.force_login(owner)
    assert page.get(path).status_code == 200
    page.logout()
    problem(page.get(path), 401, "not-signed-in")
