"""The failure view of a venue, and the command that prints it."""

import json

import pytest
from django.core.management import call_command

from showplan.records.models import Venue
from showplan.services.errors import NotFound
from showplan.services.failures import failures_of
from tests.tours import a_tour, a_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue() -> Venue:
    return Venue.objects.select_related("project").get(pk=a_tour(a_user()).pk)


def test_the_gateway_takes_all_with_it(venue: Venue) -> None:
    [network] = failures_of(venue)["networks"]
    gateway = network["nodes"][0]
    assert gateway["lost"] == ("N0",)
    assert len(gateway["dark"]) == network["reached"] - 1
    with pytest.raises(NotFound, match="the house is"):
        failures_of(venue, "half")


def test_the_command_says_it_in_words_and_as_json(venue: Venue, capsys: pytest.CaptureFixture[str]) -> None:
    call_command("failures", venue.name)
    assert "without N0: dark: N1, N2" in capsys.readouterr().out
    call_command("failures", str(venue.pk), "--json")
    assert json.loads(capsys.readouterr().out) == json.loads(json.dumps(failures_of(venue)))
    with pytest.raises(SystemExit) as refused:
        call_command("failures", "Nowhere")
    assert refused.value.code == 1
    assert "there is no venue with the name 'Nowhere'" in capsys.readouterr().err
