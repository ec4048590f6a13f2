"""Values that no record may have: each refused with the field's pointer, none written, never a failure of ours."""

from typing import Any

import pytest

from showplan.records.models import Change, Node
from showplan.services.nouns import by_path
from tests.api.bodies import Given, new_body
from tests.api.client import ApiClient, items, made, pointers, problem
from tests.tours import a_kit, a_project, a_venue

pytestmark = pytest.mark.django_db

HUGE = 10**400
DEEP: Any = []
for _ in range(700):
    DEEP = [DEEP]


BAD: list[tuple[str, dict[str, Any], list[str]]] = [
    ("walls", {"height_m": -2.5}, ["/height_m"]),
    ("walls", {"height_m": 0}, ["/height_m"]),
    ("walls", {"height_m": 1e300}, ["/height_m"]),
    ("walls", {"height_m": HUGE}, ["/height_m"]),
    ("walls", {"end_x_m": 1, "end_y_m": 0}, ["/end_x_m"]),
    ("walls", {"end_x_m": 50.001}, ["/end_x_m", "/end_y_m"]),
    ("walls", {"material": "cheese"}, ["/material"]),
    ("walls", {"material": DEEP}, ["/material"]),
    ("walls", {"material": "m" * 1_000_000}, ["/material"]),
    ("walls", {"label": "", "start_x_m": True}, ["/label", "/start_x_m"]),
    ("node-types", {"sensitivity_dbm": 97}, ["/sensitivity_dbm"]),
    ("node-types", {"cable_loss_db": -1, "output_limit_a": 0}, ["/cable_loss_db", "/output_limit_a"]),
    ("node-types", {"outputs": 2.5}, ["/outputs"]),
    ("node-types", {"outputs": HUGE}, ["/outputs"]),
    ("node-types", {"note": "x" * 10_001}, ["/note"]),
    ("occupied-spectrum", {"received_dbm": 71}, ["/received_dbm"]),
    ("placements", {"x_m": 50.01}, ["/x_m", "/y_m"]),
    ("placements", {"height_m": 3.01}, ["/height_m"]),
    ("placements", {"x_m": None}, ["/x_m"]),
    ("networks", {"pan_id": 65535, "radio_channel": -1}, ["/pan_id", "/radio_channel"]),
    ("nodes", {"short_address": 3}, ["/short_address"]),
    ("nodes", {"short_address": None}, ["/short_address"]),
    ("nodes", {"label": "N1"}, ["/label"]),
    ("nodes", {"label": "x" * 81}, ["/label"]),
    ("nodes", {"label": "a\x00b"}, ["/label"]),
    ("nodes", {"label": "a\x1bb"}, ["/label"]),
    ("nodes", {"label": "a\ud800b", "note": "\udfff"}, ["/label", "/note"]),
    ("nodes", {"role": "\ud800"}, ["/role"]),
    ("nodes", {"\ud800": 1}, ["/\\ud800"]),
    ("nodes", {"node_type": "\ud800", "crew": "5" * 100_000}, ["/crew", "/node_type"]),
    ("nodes", {"node_type": 7, "crew": DEEP, "network": "\x00"}, ["/crew", "/network", "/node_type"]),
    ("nodes", {"node_type": None}, ["/node_type"]),
    ("supplies", {"kind": "battery"}, ["/capacity_ah"]),
    ("loads", {"output": 65}, ["/output"]),
    ("loads", {"rated_a": 1}, ["/rated_w"]),
    ("loads", {"kind": "tape"}, ["/length_m"]),
    ("zones", {"corners_m": [[0, 0], [5, 5], [5, 0], [0, 5]]}, ["/corners_m"]),
    ("zones", {"corners_m": [[0, 0], [5, "5"], [5, 0, 1]]}, ["/corners_m/1/1", "/corners_m/2"]),
    ("zones", {"corners_m": [DEEP, "x", 5]}, ["/corners_m/0/0", "/corners_m/1", "/corners_m/2"]),
    ("zones", {"corners_m": [[0, DEEP], [5, 0], [5, 5]]}, ["/corners_m/0/1"]),
    ("tour-dates", {"date": "2027-02-30"}, ["/date"]),
    ("tour-dates", {"date": "0000-01-01", "kind": 5}, ["/date", "/kind"]),
    ("readings", {"received_dbm": None}, ["/received_dbm"]),
    ("readings", {"packet_error": 1.01}, ["/packet_error"]),
    ("readings", {"taken_at": "yesterday"}, ["/taken_at"]),
    ("readings", {"taken_at": "0001-01-01T00:00:00+14:00"}, ["/taken_at"]),
    ("readings", {"taken_at": "9999-12-31T23:59:59-14:00"}, ["/taken_at"]),
]


def refused(api: ApiClient, given: Given, path: str, **values: Any) -> list[str]:
    """The pointers of a record that is refused; fails where anything was written."""
    noun, rows = by_path()[path], Change.objects.count()
    response = api.post(given.collection(noun), new_body(noun, given, 1) | values)
    assert Change.objects.count() == rows
    return pointers(response)


def test_a_bad_value_is_named(given: Given, owner_api: ApiClient) -> None:
    wrong = {}
    for path, values, expected in BAD:
        found = refused(owner_api, given, path, **values)
        if found != expected:
            wrong[f"{path} {values!r:.60}"] = found
    assert wrong == {}


def test_a_number_in_quotes_is_no_number(given: Given, owner_api: ApiClient) -> None:
    numbers = ("base_m", "height_m", "start_x_m")
    for text in ("NaN", "Infinity", "-Infinity", "nan", "inf", "1e5", " 5 "):
        found = refused(owner_api, given, "walls", **dict.fromkeys(numbers, text))
        assert found == [f"/{name}" for name in numbers], text


def test_a_number_past_what_a_float_holds_is_refused(given: Given, owner_api: ApiClient) -> None:
    walls, networks = by_path()["walls"], f"projects/{given.project}/networks/"
    address = given.collection(walls)
    record = made(owner_api.post(address, new_body(walls, given, 1)))
    for text in ("1e400", "-1e400"):
        body = f'{{"height_m": {text}, "base_m": {text}}}'
        response = owner_api.send("PATCH", f"{address}{record['id']}/", body, If_Match="*")
        assert pointers(response) == ["/base_m", "/height_m"]
        found = pointers(owner_api.send("POST", networks, f'{{"pan_id": {text}}}'))
        assert found == ["/name", "/pan_id", "/phy", "/radio_channel"]


def test_a_refusal_does_not_send_a_long_value_back(given: Given, owner_api: ApiClient) -> None:
    walls = by_path()["walls"]
    long = "m" * 1_000_000
    for name in ("material", "level"):
        body = new_body(walls, given, 1) | {name: long}
        assert len(owner_api.post(given.collection(walls), body).content) < 3000
    level, kind = by_path()["levels"], by_path()["supplies"]
    body = new_body(kind, given, 1) | {"kind": long}
    assert len(owner_api.post(given.collection(kind), body).content) < 3000
    assert len(owner_api.get(given.collection(level), {"name": "Attic", "limit": long[:2000]}).content) < 3000


def test_a_record_of_another_venue_or_project_cannot_be_referred_to(
    given: Given, tour, owner, owner_api: ApiClient
) -> None:
    other = a_venue(tour.project, owner, "Second hall")
    elsewhere = a_kit(a_project(owner, "Other show"), owner, 1)
    level = str(other.levels.get().pk)
    assert refused(owner_api, given, "walls", level=level) == ["/level"]
    assert refused(owner_api, given, "placements", level=level, node=str(elsewhere[0].pk)) == ["/level", "/node"]
    assert refused(owner_api, given, "readings", transmitter=str(elsewhere[0].pk)) == ["/transmitter"]
    strange = {"node_type": elsewhere[0].node_type_id, "network": elsewhere[0].network_id}
    named = {name: str(key) for name, key in strange.items()}
    assert refused(owner_api, given, "nodes", **named) == ["/network", "/node_type"]


def test_what_others_lean_on_cannot_change_below_them(given: Given, owner_api: ApiClient) -> None:
    """Rules between records that the database's guards keep: refused as input, and nothing is written."""
    made(owner_api.post(f"venues/{given.venue}/walls/", new_body(by_path()["walls"], given, 9)))
    level = f"venues/{given.venue}/levels/{given.level}/"
    problem(owner_api.patch(level, {"width_m": 5}, "*"), 422, "invalid-input")
    assert owner_api.get(level).json()["width_m"] == 50
    made(owner_api.post(f"projects/{given.project}/loads/", new_body(by_path()["loads"], given, 30)))
    sort = f"projects/{given.project}/node-types/{given.node_type}/"
    problem(owner_api.patch(sort, {"outputs": 30}, "*"), 422, "invalid-input")
    assert owner_api.get(sort).json()["outputs"] == 64


def test_what_is_in_use_cannot_be_deleted(given: Given, owner_api: ApiClient) -> None:
    sort = f"projects/{given.project}/node-types/{given.node_type}/"
    document = problem(owner_api.delete(sort, 1), 409, "still-in-use")
    assert "node spare 00" in document["detail"]
    assert Node.objects.filter(node_type_id=given.node_type).count() == 40
    zone = items(owner_api.get(f"venues/{given.venue}/zones/", {"name": "Stage"}))[0]
    document = problem(owner_api.delete(f"venues/{given.venue}/zones/{zone['id']}/", zone["version"]), 409)
    assert document["type"].endswith("still-in-use")
