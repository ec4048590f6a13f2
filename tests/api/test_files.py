"""Export, import and tables through the API: media types, headers, rights, problem documents."""

import json

import pytest
from django.conf import settings

from showplan.records.models import Node, Project, Reading, User
from tests.api.client import ApiClient, api_for, made, pointers, problem
from tests.conftest import Tour

CSV = "text/csv"


@pytest.fixture
def here(tour: Tour) -> str:
    """The address of the tour."""
    return f"projects/{tour.project.pk}/"


def test_a_project_goes_out_and_in_again(owner_api: ApiClient, here: str) -> None:
    out = owner_api.get(f"{here}export/")
    assert out["Content-Type"] == "application/json"
    assert out["Content-Disposition"] == 'attachment; filename="lantern-walk.json"'
    assert out["ETag"] == f'"{out["Showplan-SHA256"]}"'
    assert owner_api.get(f"{here}export/", If_None_Match=out["ETag"]).status_code == 304
    answer = owner_api.send("POST", "projects/import/", out.content)
    copy = made(answer)
    assert answer["ETag"] == f'"{copy["version"]}"'
    assert owner_api.get(answer["Location"]).json() == copy
    assert owner_api.get(f"projects/{copy['id']}/export/").content == out.content


def test_a_venue_goes_out_and_in_again(owner_api: ApiClient, here: str, tour: Tour) -> None:
    out = owner_api.get(f"venues/{tour.venue.pk}/export/").json()
    assert pointers(owner_api.post(f"{here}venues/import/", out)) == ["/venue/name"]
    answer = owner_api.post(f"{here}venues/import/?name=Second", out)
    venue = made(answer)
    assert venue["name"] == "Second"
    assert owner_api.get(answer["Location"]).json() == venue
    out["venue"]["name"] = "Second"
    assert owner_api.get(f"venues/{venue['id']}/export/").json() == out


def test_every_fault_has_its_pointer_and_nothing_is_written(owner_api: ApiClient, here: str) -> None:
    document = owner_api.get(f"{here}export/").json()
    document["nodes"][0] |= {"a/b~": 1, "\ud800": 2, "role": "boss"}
    document["venues"][0]["walls"][0]["level"] = "Cellar"
    before = Project.objects.count()
    assert pointers(owner_api.post("projects/import/", document)) == [
        "/nodes/0/?",
        "/nodes/0/a~1b~0",
        "/nodes/0/role",
        "/venues/0/walls/0/level",
    ]
    assert Project.objects.count() == before


@pytest.mark.parametrize("body", ["[]", '"x"', "null", "7", "{}", '{"format": "showplan-project"}'])
def test_what_is_no_document(owner_api: ApiClient, here: str, body: str) -> None:
    problem(owner_api.send("POST", "projects/import/", body), 422, "invalid-input")
    problem(owner_api.send("POST", f"{here}venues/import/", body), 422, "invalid-input")


def test_what_is_no_json_and_what_is_too_large(owner_api: ApiClient) -> None:
    problem(owner_api.send("POST", "projects/import/", '{"a": NaN}'), 400)
    problem(owner_api.send("POST", "projects/import/", '{"a": 1, "a": 2}'), 400)
    problem(owner_api.send("POST", "projects/import/", b" " * (settings.DATA_UPLOAD_MAX_MEMORY_SIZE + 1)), 413)
    problem(owner_api.send("POST", "projects/import/", "{}", CSV), 415)


def test_the_name_beside_the_document_is_a_parameter(owner_api: ApiClient, here: str) -> None:
    document = owner_api.get(f"{here}export/").json()
    assert made(owner_api.post("projects/import/?name=Other", document))["name"] == "Other"
    told = problem(owner_api.post(f"projects/import/?name={'x' * 81}", document), 400, "bad-parameter")
    assert told["errors"][0]["parameter"] == "name"
    problem(owner_api.post("projects/import/?nam=Other", document), 400, "bad-parameter")


def test_the_same_import_twice_makes_one_project(owner_api: ApiClient, here: str) -> None:
    document = owner_api.get(f"{here}export/").json()
    first = owner_api.post("projects/import/", document, Idempotency_Key="walk-1")
    again = owner_api.post("projects/import/", document, Idempotency_Key="walk-1")
    assert made(first) == made(again)
    assert again["Location"] == first["Location"]
    assert Project.objects.count() == 2


def test_rights(viewer: User, outsider_api: ApiClient, viewer_api: ApiClient, tour: Tour, here: str) -> None:
    venue = f"venues/{tour.venue.pk}/export/"
    out, table = viewer_api.get(venue).json(), viewer_api.get(f"{here}nodes.csv").content
    problem(viewer_api.post(f"{here}venues/import/?name=Mine", out), 403, "not-allowed")
    problem(viewer_api.send("POST", f"{here}nodes.csv", table, CSV), 403, "not-allowed")
    for address in (venue, f"{here}export/", f"{here}nodes.csv", f"{here}loads.csv"):
        problem(outsider_api.get(address), 404)
    problem(outsider_api.post(f"{here}venues/import/", out), 404)
    problem(outsider_api.send("POST", f"{here}loads.csv", table, CSV), 404)
    project = viewer_api.get(f"{here}export/").json()
    assert made(viewer_api.post("projects/import/", project))["name"] == "Lantern walk"


def test_scopes(owner: User, here: str, tour: Tour) -> None:
    reading, writing = api_for(owner, scopes=("read",)), api_for(owner, scopes=("write",))
    document = reading.get(f"{here}export/").json()
    assert "'write'" in problem(reading.post("projects/import/", document), 403)["detail"]
    assert "'write'" in problem(reading.send("POST", f"{here}nodes.csv", "label", CSV), 403)["detail"]
    assert "'read'" in problem(writing.get(f"{here}nodes.csv"), 403)["detail"]
    bound = api_for(owner, project=tour.project)
    assert "bound to one project" in problem(bound.post("projects/import/", document), 403)["detail"]


@pytest.mark.parametrize("path", ["nodes.csv", "loads.csv"])
def test_a_table_goes_out_and_in_again(owner_api: ApiClient, here: str, path: str) -> None:
    out = owner_api.get(here + path)
    assert out["Content-Type"] == "text/csv; charset=utf-8"
    assert out["Content-Disposition"] == f'attachment; filename="lantern-walk-{path}"'
    report = owner_api.send("POST", here + path, out.content, CSV).json()
    lines = out.content.decode().count("\r\n") - 1
    assert report == {
        "dry_run": False,
        "created": 0,
        "updated": 0,
        "unchanged": lines,
        "revision": report["revision"],
        "rows": [],
    }


def test_a_table_is_asked_for_as_csv(owner_api: ApiClient, here: str) -> None:
    assert owner_api.get(f"{here}nodes.csv", Accept="text/csv").status_code == 200
    problem(owner_api.get(f"{here}nodes.csv", Accept="text/html"), 406)
    problem(owner_api.get("projects/00000000-0000-4000-8000-000000000000/nodes.csv", Accept="text/csv"), 404)
    problem(owner_api.send("POST", f"{here}nodes.csv", "{}"), 415)


def test_a_dry_run_tells_and_writes_nothing(owner_api: ApiClient, here: str) -> None:
    table = "label;role;node_type;note\nN0;gateway;Pocket;by the door\nNew;relay;Pocket;\n"
    before = Node.objects.count()
    told = owner_api.send("POST", f"{here}nodes.csv?dry_run=true", table, CSV).json()
    assert Node.objects.count() == before
    assert told["rows"] == [
        {"line": 2, "label": "N0", "action": "update", "fields": ["note"]},
        {"line": 3, "label": "New", "action": "create", "fields": ["label", "role", "node_type", "note"]},
    ]
    done = owner_api.send("POST", f"{here}nodes.csv?dry_run=false", table, CSV).json()
    assert done == told | {"dry_run": False, "revision": told["revision"] + 1}
    assert Node.objects.count() == before + 1
    problem(owner_api.send("POST", f"{here}nodes.csv?dry_run=yes", table, CSV), 400, "bad-parameter")


def test_faults_of_a_table_have_line_and_column(owner_api: ApiClient, here: str) -> None:
    told = problem(owner_api.send("POST", f"{here}nodes.csv", "label,role\nN0,boss\n", CSV), 422, "invalid-input")
    assert told["errors"] == [
        {"line": 2, "column": "role", "detail": "must be one of gateway, relay, receiver, not 'boss'"}
    ]
    told = problem(owner_api.send("POST", f"{here}nodes.csv", b"", CSV), 422, "invalid-input")
    assert "header line" in told["detail"]


def test_readings_go_in_and_out_as_a_table(owner_api: ApiClient, outsider_api: ApiClient, tour: Tour) -> None:
    address = f"venues/{tour.venue.pk}/readings.csv"
    table = (
        "at_node,transmitter,receiver_type,received_dbm,taken_at,taken_by\r\n"
        "N3,N0,Pocket,-60,2026-03-01T10:00:00Z,Bea\r\nN4,N0,Pocket,-64.5,2026-03-01T10:03:00Z,Bea\r\n"
    )
    tried = owner_api.send("POST", f"{address}?dry_run=true", table, CSV).json()
    assert (tried["dry_run"], tried["created"], Reading.objects.count()) == (True, 2, 0)
    done = owner_api.send("POST", address, table, CSV).json()
    assert done == tried | {"dry_run": False, "revision": tried["revision"] + 1}
    assert done["rows"][0]["label"].startswith("N0 at (")
    out = owner_api.get(address)
    assert out["Content-Disposition"] == 'attachment; filename="lantern-walk-corn-hall-readings.csv"'
    again = owner_api.send("POST", address, out.content, CSV).json()
    assert (again["created"], again["unchanged"], again["revision"]) == (0, 2, done["revision"])
    wrong = table.replace("-60", "12").replace("N4", "N99")
    told = problem(owner_api.send("POST", address, wrong, CSV), 422, "invalid-input")
    assert told["errors"] == [
        {"line": 2, "column": "received_dbm", "detail": "12 dBm is more than 'N0' sends, 3 dBm"},
        {"line": 3, "column": "at_node", "detail": "there is no node 'N99' in the project"},
    ]
    problem(outsider_api.get(address), 404)
    problem(outsider_api.send("POST", address, table, CSV), 404)
    assert Reading.objects.count() == 2


def test_the_export_is_canonical_json_for_people(owner_api: ApiClient, here: str) -> None:
    text = owner_api.get(f"{here}export/").content.decode()
    assert text.endswith("}\n")
    assert text == json.dumps(json.loads(text), indent=1, ensure_ascii=False) + "\n"
