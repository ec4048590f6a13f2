"""A planned relay placement in the venue: who stays, moves, comes and leaves; one revision, undone as one."""

import pytest

from showplan.records.models import Node, Placement, User, Venue
from showplan.services.errors import NotAllowed, NotFound, RuleBroken
from showplan.services.history import undo_revision
from showplan.services.relay_placing import place_relays
from showplan.services.rights import Caller
from tests.builders import add_member
from tests.tours import a_tour, a_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return a_user()


@pytest.fixture
def venue(owner: User) -> Venue:
    """Gateway N0 at (2, 18) m, relay N1 at (5.5, 18) m, both 1.5 m high."""
    return Venue.objects.select_related("project").get(pk=a_tour(owner).pk)


def _site(x_m: float, y_m: float, height_m: float = 1.5, level: str = "Hall") -> dict:
    return {"site": f"{x_m}", "level": level, "x_m": x_m, "y_m": y_m, "height_m": height_m}


def _answer(*relays: dict, gateways: tuple[dict, ...] = ({"node": "N0"},)) -> dict:
    placements = [{"relays": list(relays), "gateways": list(gateways)}]
    return {"network": "Show", "relay_type": "Pocket", "placements": placements}


def _where(label: str) -> tuple[float, float]:
    placement = Placement.objects.get(node__label=label)
    return placement.x_m, placement.y_m


def test_a_relay_at_a_chosen_site_stays(owner: User, venue: Venue) -> None:
    before = venue.project.revision
    applied = place_relays(Caller(owner), venue, _answer(_site(5.5, 18)))
    assert (applied.kept, applied.moved, applied.placed, applied.removed) == (["N1"], [], [], [])
    assert applied.revision == before  # nothing changed, so nothing is written


def test_it_is_moved_others_are_made_and_all_is_undone_as_one(owner: User, venue: Venue) -> None:
    before = venue.project.revision
    applied = place_relays(Caller(owner), venue, _answer(_site(20, 18), _site(30, 10)), make_missing=True)
    assert (applied.moved, applied.made) == (["N1"], ["Show relay 1"])
    assert applied.revision == before + 1
    assert (_where("N1"), _where("Show relay 1")) == ((20, 18), (30, 10))
    made = Node.objects.get(label="Show relay 1")
    assert (made.role, made.network.name, made.short_address) == ("relay", "Show", 8)
    undo_revision(Caller(owner), venue.project, before + 1)
    assert _where("N1") == (5.5, 18)
    assert not Node.objects.filter(label="Show relay 1").exists()


def test_relays_that_are_not_needed_leave_the_venue_not_the_kit(owner: User, venue: Venue) -> None:
    assert place_relays(Caller(owner), venue, _answer()).removed == ["N1"]
    assert Node.objects.filter(label="N1").exists()
    assert not Placement.objects.filter(node__label="N1").exists()


def test_a_kit_with_too_few_relays_is_said_and_nothing_is_written(owner: User, venue: Venue) -> None:
    with pytest.raises(RuleBroken, match="network 'Show' lacks 2 relays of type Pocket in the kit"):
        place_relays(Caller(owner), venue, _answer(_site(20, 18), _site(30, 10), _site(35, 10)))
    assert _where("N1") == (5.5, 18)


def test_a_chosen_gateway_site_takes_the_gateway(owner: User, venue: Venue) -> None:
    applied = place_relays(Caller(owner), venue, _answer(_site(5.5, 18), gateways=(_site(38, 2),)))
    assert (applied.moved, applied.kept, _where("N0")) == (["N0"], ["N1"], (38, 2))


def test_what_is_gone_is_said(owner: User, venue: Venue) -> None:
    with pytest.raises(NotFound, match="level 'Cellar'"):
        place_relays(Caller(owner), venue, _answer(_site(1, 1, level="Cellar")))
    with pytest.raises(NotFound, match="there is no placement 2 in this answer; it has 1"):
        place_relays(Caller(owner), venue, _answer(), 1)
    with pytest.raises(NotFound, match="node type 'Gone'"):
        place_relays(Caller(owner), venue, _answer() | {"relay_type": "Gone"})


def test_viewers_and_strangers_may_not(owner: User, venue: Venue) -> None:
    viewer = a_user()
    add_member(venue, owner, viewer, "viewer")
    with pytest.raises(NotAllowed):
        place_relays(Caller(viewer), venue, _answer())
    with pytest.raises(NotFound):
        place_relays(Caller(a_user()), venue, _answer())
