"""Does the data fit, as values for API and command: JSON without holes, refusals with names, the command's words."""

import json

import pytest
from django.core.management import call_command

from showplan.records.models import Venue
from showplan.services.air import air_of_venue, strategies_of_venue
from showplan.services.errors import NotFound
from tests.tours import a_tour, a_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue() -> Venue:
    return Venue.objects.select_related("project").get(pk=a_tour(a_user()).pk)


def test_every_number_can_be_written_as_json(venue: Venue) -> None:
    found = air_of_venue(venue)
    json.dumps(found, allow_nan=False)
    [network] = found["networks"]
    assert (network["network"], network["slots"]) == ("Show", 4 * 6)
    assert {node["label"] for node in network["nodes"] if node["slots"]} == {f"N{i}" for i in range(2, 8)}


def test_one_way_of_sending_is_best_and_says_why(venue: Venue) -> None:
    found = strategies_of_venue(venue, "Show")
    json.dumps(found, allow_nan=False)
    rows = found["strategies"]
    assert [one["is_best"] for one in rows] == [True] + [False] * (len(rows) - 1)
    assert rows[0]["reason"]
    assert sum(one["is_present"] for one in rows) == 1
    with pytest.raises(NotFound, match="no network 'Shaw' with nodes here; known: Show"):
        strategies_of_venue(venue, "Shaw")


def test_the_command_in_words_and_as_json(venue: Venue, capsys: pytest.CaptureFixture[str]) -> None:
    call_command("air", venue.name)
    assert capsys.readouterr().out.startswith("Show: 25 frames a second wanted, fits: ")
    call_command("air", venue.name, "--strategies", "Show")
    assert "(best)" in capsys.readouterr().out
    call_command("air", venue.name, "--json")
    assert json.loads(capsys.readouterr().out) == json.loads(json.dumps(air_of_venue(venue)))
    with pytest.raises(SystemExit) as refused:
        call_command("air", venue.name, "--strategies", "Shaw")
    assert refused.value.code == 1
