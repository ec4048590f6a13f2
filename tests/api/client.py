"""Calling the API as a script does (bearer token) or as a page does (session, CSRF enforced)."""

import json
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.test import Client

from showplan.records.models import Project, User
from showplan.services.rights import SCOPES
from showplan.services.tokens import make_token

V1 = "/api/v1/"
PROBLEM = "application/problem+json"


class ApiClient:
    """JSON calls with one bearer token; without a token, anonymous. Paths are below /api/v1/ or whole addresses."""

    def __init__(self, token: str | None = None, **headers: str) -> None:
        self._client = Client(enforce_csrf_checks=True)
        self._headers = headers | ({"Authorization": f"Bearer {token}"} if token else {})

    def get(self, path: str, query: dict[str, Any] | None = None, **headers: str) -> HttpResponse:
        """GET."""
        return self._client.get(_address(path), query or {}, headers=self._with(headers))

    def post(self, path: str, body: Any, **headers: str) -> HttpResponse:
        """POST of a JSON body."""
        return self.send("POST", path, json.dumps(body), **headers)

    def patch(self, path: str, body: Any, version: int | str | None = None, **headers: str) -> HttpResponse:
        """PATCH based on a version; without one the call carries no If-Match."""
        return self.send("PATCH", path, json.dumps(body), **_if_match(version), **headers)

    def delete(self, path: str, version: int | str | None = None, **headers: str) -> HttpResponse:
        """DELETE based on a version; without one the call carries no If-Match."""
        return self.send("DELETE", path, "", **_if_match(version), **headers)

    def send(
        self, method: str, path: str, body: str | bytes, content_type: str = "application/json", **headers: str
    ) -> HttpResponse:
        """Any method with a body that is sent as it is."""
        return self._client.generic(method, _address(path), body, content_type, headers=self._with(headers))

    def _with(self, headers: dict[str, str]) -> dict[str, str]:
        return self._headers | {name.replace("_", "-"): value for name, value in headers.items()}


def token_for(user: User, *, scopes: tuple[str, ...] = SCOPES, project: Project | None = None, name: str = "") -> str:
    """The text of a fresh token."""
    return make_token(user=user, name=name or "script", scopes=scopes, days=1, project=project)[1]


def api_for(user: User, *, scopes: tuple[str, ...] = SCOPES, project: Project | None = None) -> ApiClient:
    """A client with a fresh token of the user's."""
    return ApiClient(token_for(user, scopes=scopes, project=project))


def problem(response: HttpResponse, status: int, kind: str | None = None) -> dict[str, Any]:
    """The problem document of a refusal; fails where the answer is another one or not a whole document (RFC 9457)."""
    assert response.status_code == status, response.content[:2000]
    assert response["Content-Type"] == PROBLEM
    document: dict[str, Any] = response.json()
    assert {"type", "title", "status", "detail", "instance", "request_id"} <= set(document)
    assert document["status"] == status
    assert document["request_id"] == response["X-Request-ID"]
    if kind is not None:
        assert document["type"] == f"urn:showplan:problem:{kind}", document
    return document


def pointers(response: HttpResponse, status: int = 422) -> list[str]:
    """The JSON pointers of the faults, sorted, each once."""
    return sorted({one["pointer"] for one in problem(response, status)["errors"]})


def items(response: HttpResponse) -> list[dict[str, Any]]:
    """The items of a page."""
    assert response.status_code == 200, response.content[:2000]
    found: list[dict[str, Any]] = response.json()["items"]
    return found


def made(response: HttpResponse) -> dict[str, Any]:
    """The record of a 201."""
    assert response.status_code == 201, response.content[:2000]
    record: dict[str, Any] = response.json()
    return record


def version_tag(version: int) -> str:
    """The strong entity tag of a version."""
    return f'"{version}"'


def is_uuid(text: str) -> bool:
    """Whether the text is an identifier."""
    return str(UUID(text)) == text


def _address(path: str) -> str:
    return path if path.startswith(("/", "http")) else V1 + path


def _if_match(version: int | str | None) -> dict[str, str]:
    if version is None:
        return {}
    return {"If_Match": version_tag(version) if isinstance(version, int) else version}
