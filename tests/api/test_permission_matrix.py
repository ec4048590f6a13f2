"""Every address, method and caller, held to the table in `permission_rows`: real calls with real identifiers.

The addresses come from the URL resolver, the methods of the API from its description as well. An address without a
row fails, so does a row without an address.
"""

import json
from collections.abc import Iterator, Mapping
from datetime import timedelta
from typing import Any

import pytest
from django.core.cache import cache
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from api.views.documentation import DESCRIPTION_FILE
from showplan.records.models import Token
from showplan.services.rights import SCOPES
from tests.api.client import token_for
from tests.api.permission_rows import API, CALLERS, EXPECTED, OK, PAGES, PUBLIC, SIGN_IN, TOKENS
from tests.api.whole_tour import VALID_QUERY, WholeTour, rolled_back, whole_tour
from tests.kept import Kept

pytestmark = pytest.mark.django_db

DESCRIPTION = json.loads(DESCRIPTION_FILE.read_text(encoding="utf-8"))
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
UNDESCRIBED = {"api-description", "api-docs", "api-unknown"}
MEDIA_TYPES = {"text/csv": "text/csv", "image/*": "image/png", "application/json": "application/json"}


def _patterns(resolver: URLResolver, before: str = "/") -> Iterator[tuple[str, URLPattern]]:
    for pattern in resolver.url_patterns:
        here = before + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from _patterns(pattern, here)
        else:
            yield here, pattern


ADDRESSES = {pattern.name: (here, pattern) for here, pattern in _patterns(get_resolver())}


def _described(name: str) -> str:
    """The address as the description writes it."""
    here, _ = ADDRESSES[name]
    for kind in ("uuid", "str", "slug", "int"):
        here = here.replace(f"<{kind}:", "{")
    return here.replace(">", "}")


@pytest.fixture(scope="module")
def tour(kept: Kept, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[WholeTour]:
    """One tour for all calls; each is rolled back."""
    with django_db_blocker.unblock():
        kept.hold()
        with whole_tour(tmp_path_factory.mktemp("media")) as made:
            yield made


@pytest.fixture(scope="module")
def callers(tour: WholeTour) -> dict[str, dict[str, str]]:
    """Headers of each caller with a token."""
    owner = tour.people["owner"]
    texts = {scope: token_for(owner, scopes=(scope,), name=f"{scope} only") for scope in SCOPES}
    texts["expired"] = token_for(owner, name="expired")
    Token.objects.filter(name="expired").update(expires_at=timezone.now() - timedelta(seconds=1))
    texts |= {"outsider_token": token_for(tour.people["outsider"]), "removed_token": tour.removed_token}
    assert set(texts) == set(TOKENS)
    return {who: {"Authorization": f"Bearer {text}"} for who, text in texts.items()}


def test_every_address_has_a_row_and_every_row_an_address() -> None:
    named = {name for name, _ in EXPECTED}
    assert None not in ADDRESSES, "an address without a name"
    assert set(ADDRESSES) - named == set(), "addresses without a row: say in permission_rows who may use them"
    assert named - set(ADDRESSES) == set(), "rows without an address"
    for key, row in EXPECTED.items():
        assert set(row) == set(CALLERS), key


def test_the_rows_of_the_api_are_the_operations_of_its_description() -> None:
    described = {
        (method.upper(), path): one["x-scope"]
        for path, item in DESCRIPTION["paths"].items()
        for method, one in item.items()
    }
    rows = {(method, _described(name)): row for (name, method), row in API.items() if name not in UNDESCRIBED}
    assert set(rows) == set(described)
    for key, scope in described.items():
        let_in = [who for who in SCOPES if rows[key][who] not in (401, 403)]
        assert let_in == [scope] or key == ("POST", "/api/v1/tokens/"), key


@pytest.mark.parametrize(("name", "method"), API)
def test_an_address_of_the_api(name: str, method: str, tour: WholeTour, callers: dict[str, dict[str, str]]) -> None:
    path = _described(name) if name != "api-unknown" else "/api/v1/no/such/address/"
    operation = DESCRIPTION["paths"].get(path, {}).get(method.lower(), {"responses": {"200": {}}})
    success = next(int(status) for status in operation["responses"] if status.startswith("2"))
    media_type = MEDIA_TYPES[next(iter(operation.get("requestBody", {}).get("content", {"application/json": 0})))]
    body: Any = tour.body(path, method.lower()) if "requestBody" in operation else ""
    content = body if isinstance(body, str | bytes) else json.dumps(body, default=str)
    query = {"QUERY_STRING": "&".join(f"{key}={value}" for key, value in VALID_QUERY.get(path, {}).items())}

    def call(client: Client, headers: dict[str, str]) -> HttpResponse:
        guards = {"If-Match": "*"} if method in ("PUT", "PATCH", "DELETE") else {}
        return client.generic(method, tour.address(path), content, media_type, headers=headers | guards, **query)

    found = {who: _answer(call, who, tour, callers).status_code for who in CALLERS}
    assert _differing(found, {who: status or success for who, status in API[name, method].items()}) == {}


@pytest.mark.parametrize(("name", "method"), PAGES)
def test_a_page(name: str, method: str, tour: WholeTour, callers: dict[str, dict[str, str]]) -> None:
    address = reverse(name, kwargs=_page_parameters(name, tour))

    def call(client: Client, headers: dict[str, str]) -> HttpResponse:
        return client.generic(method, address, "", "application/x-www-form-urlencoded", headers=headers)

    found = {who: _page_answer(_answer(call, who, tour, callers)) for who in CALLERS}
    assert _differing(found, PAGES[name, method]) == {}


@pytest.mark.parametrize("name", sorted({name for name, _ in PAGES}))
def test_a_page_takes_no_other_method(name: str, tour: WholeTour, callers: dict[str, dict[str, str]]) -> None:
    address = reverse(name, kwargs=_page_parameters(name, tour))
    for method in set(METHODS) - {method for row, method in PAGES if row == name}:
        who = "nobody" if PAGES.get((name, "GET")) is PUBLIC else "owner"  # who is signed in is led away from sign-in
        response = _answer(lambda client, _: client.generic(method, address), who, tour, callers)  # noqa: B023
        assert response.status_code == 405, (name, method)


def _differing(found: Mapping[str, int], expected: Mapping[str, int]) -> dict[str, str]:
    return {who: f"{found[who]}, not {expected[who]}" for who in CALLERS if found[who] != expected[who]}


def _answer(call: Any, who: str, tour: WholeTour, callers: dict[str, dict[str, str]]) -> HttpResponse:
    """What `who` is answered; what the call wrote is gone again."""
    client = Client()
    cache.clear()
    with rolled_back():
        if who in tour.people:
            client.force_login(tour.people[who])
        response: HttpResponse = call(client, callers.get(who, {}))
    return response


def _page_answer(response: HttpResponse) -> int:
    """OK for a page, a form with faults, or a way on; else the refusal."""
    if response.status_code == 302 and response["Location"].startswith("/sign-in/?next="):
        return SIGN_IN
    return OK if response.status_code in (200, 302, 400, 409, 422) else response.status_code


def _page_parameters(name: str, tour: WholeTour) -> dict[str, Any]:
    """Values for the parameters of a page's address."""
    noun = "walls" if name.startswith("venue") else "crews"
    parent = tour.venue if name.startswith("venue") else tour.project
    known = {
        "project_id": tour.project.pk,
        "venue_id": tour.venue.pk,
        "parent_id": parent.pk,
        "path": noun,
        "table": "nodes",
        "record_id": tour.records[noun][-1][0],
        "member_id": tour.records["members"][-1][0],
        "invitation_id": tour.records["invitations"][-1][0],
        "token_id": tour.records["tokens"][-1][0],
        "job_id": tour.records["jobs"][-1][0],
        "level_id": tour.pictured,
        "revision": tour.undoable,
        "secret": tour.secret,
        "name": "free_space_loss_db",
    }
    _, pattern = ADDRESSES[name]
    return {parameter: known[parameter] for parameter in pattern.pattern.converters}
