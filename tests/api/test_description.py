"""The checked-in description is what the code describes, and says of every operation what a caller must know."""

import json
import re
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from jsonschema import Draft202012Validator

from api.description import as_text, describe
from api.management.commands.describe_api import difference
from api.views.documentation import DESCRIPTION_FILE
from showplan.services.nouns import NOUNS
from showplan.services.rights import SCOPES

ADDRESS = "/api/v1/openapi.json"
CONVENTIONAL_METHODS = {"get", "post", "put", "patch", "delete"}


@pytest.fixture(scope="module")
def description():
    """Made from the code; every gap the generator sees and every breach of the standard is an error."""
    return describe()


@pytest.fixture(scope="module")
def operations(description):
    """Triples of method, address and operation."""
    return [(method, path, one) for path, item in description["paths"].items() for method, one in item.items()]


def test_the_checked_in_file_is_what_the_code_describes(description):
    kept, fresh = DESCRIPTION_FILE.read_text(encoding="utf-8"), as_text(description)
    if kept != fresh:
        pytest.fail(f"run manage.py describe_api and look at what changes:\n{difference(kept, fresh)}")


def test_the_command_checks_and_says_what_differs(description, monkeypatch, tmp_path):
    output = StringIO()
    call_command("describe_api", "--check", stdout=output)
    assert "up to date" in output.getvalue()
    # The code describes the same again and again, and takes seconds each time: what follows is about the file.
    monkeypatch.setattr("api.management.commands.describe_api.describe", lambda: description)
    stale = tmp_path / "openapi.json"
    stale.write_text(as_text(description).replace('"List nodes"', '"List lamps"'), encoding="utf-8")
    monkeypatch.setattr("api.management.commands.describe_api.DESCRIPTION_FILE", stale)
    with pytest.raises(CommandError, match="List lamps"):
        call_command("describe_api", "--check")
    call_command("describe_api", stdout=output)
    assert stale.read_text(encoding="utf-8") == DESCRIPTION_FILE.read_text(encoding="utf-8")


def test_it_is_served_to_everybody_and_kept_by_its_tag():
    response = Client().get(ADDRESS)
    assert response.status_code == 200
    assert response["Content-Type"] == "application/json"
    assert response.content == DESCRIPTION_FILE.read_bytes()
    again = Client().get(ADDRESS, headers={"If-None-Match": response["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert Client().get(f"{ADDRESS}?lang=de").status_code == 400
    assert Client().post(ADDRESS).status_code == 405


def test_every_operation_has_a_name_a_summary_of_its_noun_and_a_scope(operations):
    names, summaries = [one["operationId"] for *_, one in operations], [one["summary"] for *_, one in operations]
    assert len(set(names)) == len(names)
    assert len(set(summaries)) == len(summaries)
    for method, path, one in operations:
        assert method in CONVENTIONAL_METHODS
        assert one["x-scope"] in SCOPES, path
        assert f"scope `{one['x-scope']}`" in one["description"], path
    for noun in NOUNS:
        assert f"List {noun.plural}" in summaries
        assert f"Write many {noun.plural} at once" in summaries


def test_every_operation_says_how_it_may_refuse(operations):
    for method, path, one in operations:
        told = set(one["responses"])
        assert {"400", "401", "403", "406", "413", "500"} <= told, path
        assert ("404" in told) or "{" not in path, path
        if "requestBody" in one:
            assert {"415", "422"} <= told, (method, path)
        assert sum(status.startswith("2") for status in told) == 1, (method, path)


def test_writes_name_the_headers_that_guard_them(description, operations):
    for method, path, one in operations:
        headers = {parameter["name"] for parameter in _resolved(description, one) if parameter["in"] == "header"}
        if method in ("put", "patch", "delete") and not path.startswith("/api/v1/tokens/"):
            assert "If-Match" in headers, path
            assert {"412", "428"} <= set(one["responses"]), path
        if "{record_id}" not in path and method == "post" and "tokens" not in path and "accept" not in path:
            assert "Idempotency-Key" in headers, path


def test_examples_fit_what_they_are_examples_of(description):
    document = {"$schema": "https://json-schema.org/draft/2020-12/schema", "components": description["components"]}
    seen = 0
    for name, schema in description["components"]["schemas"].items():
        for example in schema.get("examples", []):
            Draft202012Validator(document | {"$ref": f"#/components/schemas/{name}"}).validate(example)
            seen += 1
    assert seen >= 2 * len(NOUNS)


def test_every_reference_leads_somewhere_and_nothing_lies_unused(description):
    text = json.dumps(description)
    targets = set(re.findall(r'"#/components/(\w+)/([\w.-]+)"', text))
    there = {(kind, name) for kind, group in description["components"].items() for name in group}
    assert targets <= there
    unused = there - targets - {("securitySchemes", name) for name in description["components"]["securitySchemes"]}
    assert unused == set()


def _resolved(description, operation):
    for parameter in operation.get("parameters", []):
        target = parameter.get("$ref", "").removeprefix("#/components/parameters/")
        yield description["components"]["parameters"][target] if target else parameter
