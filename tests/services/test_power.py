"""Does the power last, as values for API and command: JSON without holes, the command's words, refusals with names."""

import json

import pytest
from django.core.management import CommandError, call_command

from showplan.records.models import Load, PartLevel, ShowPart, Venue
from showplan.services.editing import edit
from showplan.services.power import power_of_venue
from tests.tours import a_tour, a_user, by

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue() -> Venue:
    """The tour with a short day: an act at half level, in which one load is brighter, and a gap."""
    owner = a_user()
    venue = a_tour(owner)
    project = venue.project
    with edit(project, by(owner)) as change:
        [act, _] = change.create(
            [
                ShowPart(project=project, name="Act", position=1, kind="act", minutes=40.0, level=0.5),
                ShowPart(project=project, name="Supper", position=2, kind="gap", minutes=60.0),
            ]
        )
        load = Load.objects.filter(project=project).order_by("label").first()
        change.create([PartLevel(project=project, part=act, load=load, level=0.9)])
    return Venue.objects.select_related("project").get(pk=venue.pk)


def test_every_number_can_be_written_as_json(venue: Venue) -> None:
    found = power_of_venue(venue)
    json.dumps(found, allow_nan=False)
    assert {one["load"] for node in found["nodes"] for one in node["outputs"]} == set(
        Load.objects.values_list("label", flat=True)
    )
    assert all([part["part"] for part in one["parts"]] == ["Act", "Supper"] for one in found["supplies"])


def test_a_load_that_is_brighter_takes_more(venue: Venue) -> None:
    feeding = [one for one in power_of_venue(venue)["nodes"] if one["outputs"]]
    brighter, plain = (feeding[index]["energy_wh"][0]["wh"] for index in (0, 1))
    assert brighter > 1.05 * plain


def test_the_command_in_words_and_as_json(venue: Venue, capsys: pytest.CaptureFixture[str]) -> None:
    call_command("power", venue.name, "--json")
    assert json.loads(capsys.readouterr().out) == json.loads(json.dumps(power_of_venue(venue)))
    label = next(one["node"] for one in power_of_venue(venue)["nodes"] if one["outputs"])
    call_command("power", venue.name, "--node", label)
    words = capsys.readouterr().out
    assert words.startswith(f"{label}: ")
    assert "V at its outputs" in words
    assert "m supply: " in words
    assert "left in pack 1" in words
    with pytest.raises(CommandError, match="no node 'Nobody' feeds anything or has a supply; known: "):
        call_command("power", venue.name, "--node", "Nobody")
