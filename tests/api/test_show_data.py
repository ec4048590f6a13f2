"""Own PHYs, traffic settings and feeds through the API: keys, refusals, and the plan that follows."""

import pytest

from showplan.services.nouns import by_path
from tests.api.bodies import Given, new_body
from tests.api.client import ApiClient, made, pointers, problem

pytestmark = pytest.mark.django_db
OWN_PHYS, NETWORKS, TRAFFICS = (by_path()[path] for path in ("own-phys", "networks", "traffic-settings"))


def test_a_network_takes_the_key_of_an_own_phy(given: Given, editor_api: ApiClient) -> None:
    phy = made(editor_api.post(given.collection(OWN_PHYS), new_body(OWN_PHYS, given, 1)))
    networks = given.collection(NETWORKS)
    slow = {"name": "Slow", "phy": phy["key"], "radio_channel": 0, "pan_id": 77}
    network = made(editor_api.post(networks, slow))
    assert network["phy"] == phy["key"]
    assert [row["id"] for row in editor_api.get(networks, {"phy": phy["key"]}).json()["items"]] == [network["id"]]
    response = editor_api.patch(f"{networks}{network['id']}/", {"phy": "nowhere"}, 1)
    assert pointers(response) == ["/phy"]
    assert phy["key"] in response.json()["errors"][0]["detail"]
    rows = {"create": [{**slow, "name": "A", "phy": "no"}, {**slow, "name": "B"}], "update": []}
    assert pointers(editor_api.post(f"{networks}bulk/", rows)) == ["/create/0/phy"]
    scene = editor_api.get(f"venues/{given.venue}/scene/").json()
    assert [one["key"] for one in scene["own_phys"]] == [phy["key"]]
    assert editor_api.get(f"venues/{given.venue}/plan/").status_code == 200


def test_an_own_phy_in_use_is_neither_deleted_nor_renamed(given: Given, editor_api: ApiClient) -> None:
    phy = made(editor_api.post(given.collection(OWN_PHYS), new_body(OWN_PHYS, given, 1)))
    made(
        editor_api.post(
            given.collection(NETWORKS), {"name": "Slow", "phy": phy["key"], "radio_channel": 0, "pan_id": 77}
        )
    )
    address = f"{given.collection(OWN_PHYS)}{phy['id']}/"
    assert "network Slow" in problem(editor_api.delete(address, 1), 409, "still-in-use")["detail"]
    assert pointers(editor_api.patch(address, {"key": "other"}, 1)) == ["/key"]
    assert editor_api.get(address).json() == phy


def test_acknowledged_packets_for_many_are_refused(given: Given, editor_api: ApiClient) -> None:
    traffics = given.collection(TRAFFICS)
    body = {"network": given.networks[0], "acknowledged": True}
    assert pointers(editor_api.post(traffics, body)) == ["/acknowledged"]
    assert pointers(editor_api.post(traffics, {**body, "addressing": "each"})) == ["/acknowledged"]
    setting = made(editor_api.post(traffics, {**body, "addressing": "each", "relaying": "routed"}))
    response = editor_api.patch(f"{traffics}{setting['id']}/", {"addressing": "groups"}, 1)
    assert pointers(response) == ["/acknowledged"]
    assert pointers(editor_api.post(traffics, {"network": given.networks[0]})) == ["/network"]
