"""A planned relay placement in the venue: who stays, moves, comes and leaves; one revision, undone as one."""

import pytest

from showplan.records.models import Job, Level, Node, Placement, User, Venue
from showplan.services.editing import edit
from showplan.services.errors import InvalidInput, NotAllowed, NotFound, RuleBroken
from showplan.services.history import undo_revision
from showplan.services.jobs.starting import start_job
from showplan.services.relay_placing import apply_relay_job, place_relays
from showplan.services.rights import Caller
from tests.builders import add_member
from tests.relay_jobs import WISHES, add_sites, finished_job, infeasible_job
from tests.tours import a_tour, a_user, by

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


def test_the_placement_of_a_job_is_applied_undone_and_applied_again(owner: User, venue: Venue) -> None:
    add_sites(venue, owner)
    job = finished_job(venue, owner, ["Left truss"], ["Right truss"])
    applied = apply_relay_job(Caller(owner), job.pk, 1)
    assert (applied.moved, _where("N1")) == (["N1"], (24.0, 12.0))
    with pytest.raises(RuleBroken, match="the venue has changed since this was planned: plan again"):
        apply_relay_job(Caller(owner), job.pk)
    venue.project.refresh_from_db()
    undo_revision(Caller(owner), venue.project, applied.revision)
    assert apply_relay_job(Caller(owner), job.pk).moved == ["N1"]
    assert _where("N1") == (8.0, 12.0)


def test_a_cancelled_job_may_be_applied_too(owner: User, venue: Venue) -> None:
    add_sites(venue, owner)
    assert apply_relay_job(Caller(owner), finished_job(venue, owner, ["Left truss"], state="cancelled").pk).moved


def test_a_venue_that_changed_is_not_written_to(owner: User, venue: Venue) -> None:
    add_sites(venue, owner)
    job = finished_job(venue, owner, ["Left truss"])
    with edit(venue.project, by(owner)) as change:
        change.update(Level.objects.get(venue=venue), {"clear_height_m": 5.5})
    with pytest.raises(RuleBroken, match="has changed since"):
        apply_relay_job(Caller(owner), job.pk)
    assert _where("N1") == (5.5, 18)


def test_what_is_no_finished_placement_is_not_applied(owner: User, venue: Venue) -> None:
    add_sites(venue, owner)
    waiting = start_job(Caller(owner), venue, "relay-placement", WISHES)
    with pytest.raises(RuleBroken, match="no result: it is waiting"):
        apply_relay_job(Caller(owner), waiting.pk)
    with pytest.raises(RuleBroken, match="found no placement"):
        apply_relay_job(Caller(owner), infeasible_job(venue, owner, most_relays=1).pk)
    other = start_job(Caller(owner), venue, "coverage-of-levels", {"step_m": 2})
    with pytest.raises(RuleBroken, match="only a job of the kind 'relay-placement'"):
        apply_relay_job(Caller(owner), other.pk)
    job = finished_job(venue, owner, ["Left truss"], most_hops=3)
    with pytest.raises(InvalidInput, match="placement: must be from 0 to 0, not 2"):
        apply_relay_job(Caller(owner), job.pk, 2)
    assert Job.objects.count() == 4


def test_only_editors_apply(owner: User, venue: Venue) -> None:
    add_sites(venue, owner)
    job, viewer = finished_job(venue, owner, ["Left truss"]), a_user()
    add_member(venue, owner, viewer, "viewer")
    with pytest.raises(NotAllowed):
        apply_relay_job(Caller(viewer), job.pk)
    with pytest.raises(NotFound):
        apply_relay_job(Caller(a_user()), job.pk)
