"""Calls that cannot be read or answered: each gets a problem document, none has an effect."""

import base64
import json
import re

import pytest
from django.conf import settings

from showplan.records.models import Change
from tests.api.client import ApiClient, items, problem
from tests.conftest import Tour

pytestmark = pytest.mark.django_db

NOT_STRICT_JSON = [
    ('{"name": NaN}', "NaN is not a JSON number"),
    ('{"name": -Infinity}', "-Infinity is not a JSON number"),
    ('{"name": "a", "name": "b"}', "'name' stands twice"),
    ('{"name": "a", "more": {"x": 1, "x": 2}}', "'x' stands twice"),
    ('{"name": "a"', "not JSON"),
    ('{"name": "a"} {}', "not JSON"),
    ('{"name": ' + "1" * 5000 + "}", "not JSON"),
    ("[" * 100_000 + "]" * 100_000, "nested too deep"),
    ('{"name": ' + '{"a":' * 100_000 + "1" + "}" * 100_000 + "}", "nested too deep"),
    (b'{"name": "\xff"}', "not JSON"),
    (b'\xef\xbb\xbf{"name": "a"}', "not JSON"),
    ('{"name": "a"}'.encode("utf-16"), "not JSON"),
    (b"\x00", "not JSON"),
]
NO_PLACES = [
    "x",
    "%",
    "é",
    "bnVsbA",  # null
    "W10",  # []
    "e30",  # {}
    "WyJhIl0",  # ["a"]
    "WyJhIiwgImIiXQ",  # ["a", "b"]
    "WyJhIiwgbnVsbF0",  # ["a", null]
    "WyJhIiwgMV0x",  # rubbish after ["a", 1]
    "A" * 100_000,
]
STRANGE = [
    "\x00",
    "\ud800",
    None,
    10**30,
    "9" * 40,
    "9" * 5000,
    True,
    [],
    {},
    "2027-05-01",
    "2027-05-01T10:00:00",
    "0001-01-01T00:00:00+14:00",
    "1e400",
]


@pytest.fixture
def project(tour: Tour) -> str:
    """The tour's address."""
    return f"projects/{tour.project.pk}/"


@pytest.fixture
def crews(project: str) -> str:
    """An address that takes POST with {"name": ...}."""
    return f"{project}crews/"


def test_a_body_that_is_no_strict_json_is_refused(crews: str, owner_api: ApiClient) -> None:
    rows = Change.objects.count()
    for body, reason in NOT_STRICT_JSON:
        for path in (crews, f"{crews}bulk/"):
            assert reason in problem(owner_api.send("POST", path, body), 400, "unreadable")["detail"]
    assert Change.objects.count() == rows


def test_a_body_of_ten_megabytes_is_not_read(crews: str, owner_api: ApiClient) -> None:
    body = json.dumps({"name": "x" * 10_000_000})
    assert len(body) > settings.DATA_UPLOAD_MAX_MEMORY_SIZE
    for headers in ({}, {"Idempotency_Key": "once"}):
        problem(owner_api.send("POST", crews, body, **headers), 413, "too-large")
        problem(owner_api.send("POST", f"{crews}bulk/", body, **headers), 413, "too-large")


def test_another_media_type_is_refused(crews: str, owner_api: ApiClient) -> None:
    rows = Change.objects.count()
    for media_type in ("text/plain", "application/xml", "application/x-www-form-urlencoded", "multipart/form-data", ""):
        problem(owner_api.send("POST", crews, '{"name": "a"}', media_type), 415, "media-type")
    assert Change.objects.count() == rows
    response = owner_api.send("POST", crews, '{"name": "Ströme"}', "application/json; charset=utf-8")
    assert (response.status_code, response.json()["name"]) == (201, "Ströme")


def test_only_json_can_be_had(crews: str, owner_api: ApiClient) -> None:
    for accept in ("text/html", "application/xml", "image/png;q=0.5"):
        problem(owner_api.get(crews, Accept=accept), 406, "not-acceptable")
        problem(owner_api.post(crews, {"name": "a"}, Accept=accept), 406, "not-acceptable")
    assert [one["name"] for one in items(owner_api.get(crews, Accept="text/html, */*;q=0.1"))] == ["Costume"]


def test_a_place_that_is_none_is_refused(project: str, tour: Tour, owner_api: ApiClient) -> None:
    for cursor in NO_PLACES:
        for path in (f"{project}crews/", f"venues/{tour.venue.pk}/readings/", f"{project}changes/", "tokens/"):
            document = problem(owner_api.get(path, {"after": cursor}), 400, "bad-parameter")
            assert document["errors"][0]["parameter"] == "after"


def test_a_place_made_up_by_hand_never_fails_on_our_side(project: str, tour: Tour, owner_api: ApiClient) -> None:
    lists = [f"{project}{noun}/" for noun in ("crews", "changes", "members")]
    lists += [f"venues/{tour.venue.pk}/{noun}/" for noun in ("readings", "tour-dates")]
    for value in STRANGE:
        for key in ("00000000-0000-0000-0000-000000000000", 5, "5", "9" * 40, "\x00"):
            cursor = base64.urlsafe_b64encode(json.dumps([value, key]).encode()).decode().rstrip("=")
            for path in lists:
                response = owner_api.get(path, {"after": cursor})
                assert response.status_code in (200, 400), (path, value, key, response.content)


def test_a_bad_limit_is_refused(crews: str, owner_api: ApiClient) -> None:
    for limit in ("0", "1001", "-1", "1.5", "", "ten", "٣", "1_0", " 5", "9" * 5000):
        document = problem(owner_api.get(crews, {"limit": limit}), 400, "bad-parameter")
        assert document["errors"][0]["parameter"] == "limit"


def test_a_strange_filter_never_fails_on_our_side(project: str, owner_api: ApiClient) -> None:
    found = {}
    for path, name, text in (
        ("networks/", "radio_channel", "9" * 40),
        ("networks/", "radio_channel", "9" * 5000),
        ("networks/", "radio_channel", ""),
        ("nodes/", "label", "\x00"),
        ("nodes/", "label", "x" * 5000),
        ("nodes/", "node_type", ""),
        ("changes/", "revision", "9" * 40),
        ("changes/", "revision", "-1"),
        ("changes/", "record_id", "\x00"),
        ("changes/", "record_id", "5"),
    ):
        response = owner_api.get(f"{project}{path}", {name: text})
        if response.status_code == 200:
            found[name] = items(response)
        else:
            assert problem(response, 400, "bad-parameter")["errors"][0]["parameter"] == name
    assert found == {"radio_channel": [], "label": []}


def test_other_methods_and_addresses_are_refused(crews: str, project: str, owner_api: ApiClient) -> None:
    wrong = [("PUT", crews), ("DELETE", crews), ("PATCH", crews), ("GET", f"{crews}bulk/"), ("TRACE", crews)]
    for method, path in wrong:
        response = owner_api.send(method, path, "{}")
        problem(response, 405, "method")
        assert method not in response["Allow"]
    for path in ("nothing/", "projects", project.rstrip("/"), "projects/7/", f"{crews}7/", "../v2/projects/", ""):
        for method in ("GET", "PUT", "POST"):
            problem(owner_api.send(method, path, "{}"), 404, "not-found")


def test_where_nothing_is_an_address_is_told_that_lists_what_there_is(owner_api: ApiClient) -> None:
    told = problem(owner_api.get(""), 404, "not-found")["detail"]
    (address,) = re.findall(r"/api/v1/\S*", told)
    assert owner_api.get(address.removeprefix("/api/v1/")).status_code == 200


def test_an_entity_tag_of_another_form_matches_nothing(crews: str, owner_api: ApiClient) -> None:
    crew = items(owner_api.get(crews))[0]
    for tag in ("", "1", '"x"', "'1'", '"1', '"-1"', '"1.0"', '"9999999999"', 'W/"1"', '"0"', "é"):
        response = owner_api.patch(f"{crews}{crew['id']}/", {"name": "Wardrobe"}, tag)
        assert problem(response, 412, "stale-write")["current"] == crew


def test_a_bad_idempotency_key_is_refused(crews: str, owner_api: ApiClient) -> None:
    rows = Change.objects.count()
    for key in ("", "x" * 201, "a\tb", "a\x00b", "\x7f"):
        problem(owner_api.post(crews, {"name": "a"}, Idempotency_Key=key), 400, "bad-idempotency-key")
    assert Change.objects.count() == rows


def test_a_bearer_token_that_is_none_is_refused(crews: str) -> None:
    words = ("", "a b", "x", "spt_", "spt_x_y", "spt_\x00_y", "spt_é_\xff", "spt_" + "x" * 5000 + "_y")
    for word in words:
        problem(ApiClient(Authorization=f"Bearer {word}").get(crews), 401, "not-signed-in")


def test_a_request_is_named_by_the_caller_or_by_us(crews: str, owner_api: ApiClient) -> None:
    assert owner_api.get(crews, X_Request_ID="night-7.a")["X-Request-ID"] == "night-7.a"
    for strange in ("a b", "<x>", "x" * 65, ""):
        assert owner_api.get(crews, X_Request_ID=strange)["X-Request-ID"] not in (strange, "")
