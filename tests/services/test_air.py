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
    refusals = (
        (("--strategies", "Shaw"), 1, "no network 'Shaw'"),
        (("--simulate", "Shaw"), 2, "there is no network of that name; known: Show"),
        (("--simulate", "Show", "--replications", "0"), 2, "replications: must be greater than or equal to 1, not 0"),
        (("--seed", "3"), 2, "--seed: goes with --simulate"),
        (("--simulate", "Show", "--strategies", "Show"), 2, "does not go with --strategies"),
    )
    for options, code, told in refusals:
        with pytest.raises(SystemExit) as refused:
            call_command("air", venue.name, *options)
        assert refused.value.code == code, options
        assert told in capsys.readouterr().err


def test_the_command_simulates_beside_the_closed_form(venue: Venue, capsys: pytest.CaptureFixture[str]) -> None:
    wishes = ("--simulate", "Show", "--seconds", "5", "--replications", "3")
    call_command("air", venue.name, *wishes)
    told = capsys.readouterr()
    assert "  N2: delivery 100.00% (" in told.out
    assert "    closed form: " in told.out
    assert "The closed form's delivery lies inside the interval for" in told.out
    assert "3 of 3 replications done" in told.err or "working out what reaches what" in told.err


def test_the_energy_of_a_show_hour(venue: Venue) -> None:
    """E = U I t by hand: 3.3 V x 20 mA = 66 mW while somebody sends."""
    for one in strategies_of_venue(venue, "Show")["strategies"]:
        rate_hz = min(one["refresh_hz"], one["traffic"]["refresh_hz"])
        sending_s = one["air_time_ms"] / 1000 * rate_hz * 3600
        assert one["energy_j_per_show_hour"] == pytest.approx(0.066 * sending_s)
