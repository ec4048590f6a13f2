"""`manage.py reference`: the tables in the terminal, as the API has them."""

import io
import json

import pytest
from django.core.management import call_command

from showplan.services.knowledge import TABLES, table_named


def run(*arguments: str) -> str:
    out = io.StringIO()
    call_command("reference", *arguments, stdout=out, no_color=True)
    return out.getvalue()


def test_without_a_name_the_names_are_listed() -> None:
    assert run().split() == list(TABLES)
    assert json.loads(run("--json")) == list(TABLES)


@pytest.mark.parametrize("name", TABLES)
def test_json_is_what_the_api_answers(name: str) -> None:
    rows = table_named(name)
    assert rows
    assert json.loads(run(name, "--json")) == json.loads(json.dumps(rows))
    text = run(name)
    assert text.count("standing: ") == len(rows)
    assert text.count("\n\n") == len(rows)


def test_an_unknown_table_offers_the_known_ones() -> None:
    complaints = io.StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("reference", "moods", stderr=complaints)
    assert ended.value.code == 1
    assert "known: materials, phys" in complaints.getvalue()
