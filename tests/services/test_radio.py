"""Calibrating a venue and choosing its radio channels, as records: versions, going back, rights."""

from datetime import UTC, datetime, timedelta
from random import Random

import pytest

from showplan.planner.scene_file import fingerprint
from showplan.records.models import (
    Calibration,
    ChannelChoice,
    CrowdArea,
    Network,
    Node,
    OccupiedSpectrum,
    Reading,
    User,
    Venue,
)
from showplan.services.calibrating import apply_fit, fit_venue, plan_with
from showplan.services.computing import CoverageQuery, coverage_of, links_of
from showplan.services.coverage_files import as_csv, as_npz
from showplan.services.editing import edit
from showplan.services.errors import InvalidInput, NotAllowed, NotFound, PlanImpossible
from showplan.services.history import undo_revision
from showplan.services.rights import Caller
from showplan.services.scenes import build_scene
from showplan.services.spectrum import apply_channels, channels_for, spectrum_strips
from tests.builders import add_member
from tests.tours import a_tour, a_user, by

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return a_user()


@pytest.fixture
def venue(owner: User) -> Venue:
    """A tour's venue with 24 readings of its gateway, 6 dB below what the planner predicts."""
    venue = a_tour(owner)
    level, gateway, chance = venue.levels.get(), Node.objects.get(label="N0"), Random(7)
    links = links_of(venue)["networks"][0]["links"]
    assert links
    start = datetime(2027, 5, 1, 9, tzinfo=UTC)
    with edit(venue.project, by(owner)) as change:
        change.create(
            [
                Reading(
                    level=level,
                    x_m=(x := 4.0 + 1.5 * i),
                    y_m=(y := 3.0 + 12 * (i % 2)),
                    height_m=1.2,
                    transmitter=gateway,
                    receiver_type=gateway.node_type,
                    received_dbm=round(3 - 40.1 - 22 * _log10(x - 2, y - 18) - 6 + chance.gauss(0, 1.5), 1),
                    taken_at=start + timedelta(minutes=i),
                )
                for i in range(7)
            ]
        )
    return venue


def _log10(dx: float, dy: float) -> float:
    import math

    return math.log10(max(1.0, math.hypot(dx, dy)))


def caller(owner: User) -> Caller:
    return Caller(owner)


def test_a_fit_is_kept_as_a_version_and_changes_the_plan(venue: Venue, owner: User) -> None:
    before = fingerprint(build_scene(venue))
    fitted = fit_venue(venue, "Show")
    assert fitted.bias_before_db > 3
    first = apply_fit(caller(owner), venue, "Show")
    assert first.name == "calibration 1"
    scene = build_scene(Venue.objects.select_related("project").get(pk=venue.pk))
    assert scene.venue.calibration is not None
    assert scene.venue.calibration.path_loss_exponent == pytest.approx(fitted.exponent)
    assert fingerprint(scene) != before
    second = apply_fit(caller(owner), venue, "Show")
    assert second.name == "calibration 2"
    assert list(Calibration.objects.filter(is_applied=True)) == [second]


def test_going_back_to_another_or_to_the_tables(venue: Venue, owner: User) -> None:
    before = fingerprint(build_scene(venue))
    apply_fit(caller(owner), venue, "Show")
    apply_fit(caller(owner), venue, "Show")
    plan_with(caller(owner), venue, "calibration 1")
    assert Calibration.objects.get(is_applied=True).name == "calibration 1"
    plan_with(caller(owner), venue, None)
    assert not Calibration.objects.filter(is_applied=True).exists()
    assert fingerprint(build_scene(venue)) == before
    with pytest.raises(NotFound, match="calibration 1, calibration 2"):
        plan_with(caller(owner), venue, "calibration 9")


def test_applying_is_one_revision_that_can_be_undone(venue: Venue, owner: User) -> None:
    before = fingerprint(build_scene(venue))
    apply_fit(caller(owner), venue, "Show")
    undo_revision(caller(owner), venue.project, venue.project.revision)
    assert fingerprint(build_scene(Venue.objects.select_related("project").get(pk=venue.pk))) == before
    assert not Calibration.objects.exists()


def test_what_cannot_be_fitted_says_why(venue: Venue, owner: User) -> None:
    with pytest.raises(NotFound, match="no network 'Other'"):
        fit_venue(venue, "Other")
    Reading.objects.update(received_dbm=10.0)
    with pytest.raises(PlanImpossible, match="more than 'N0' sends"):
        fit_venue(venue, "Show")
    Reading.objects.all().delete()
    with pytest.raises(PlanImpossible, match="needs 3 at the least"):
        apply_fit(caller(owner), venue, "Show")
    assert not Calibration.objects.exists()


def test_viewers_look_and_do_not_apply(venue: Venue, owner: User) -> None:
    viewer = a_user()
    add_member(venue, owner, viewer, "viewer")
    for act in (
        lambda: apply_fit(Caller(viewer), venue, "Show"),
        lambda: plan_with(Caller(viewer), venue, None),
        lambda: apply_channels(Caller(viewer), venue),
    ):
        with pytest.raises(NotAllowed):
            act()


@pytest.mark.parametrize(
    ("losses", "words"),
    [
        ("wall brick-200", "line 1: write wall or floor"),
        ("wall brick-200 6\nroof brick-200 6", "line 2"),
        ("wall cheese 6", "'cheese' is not in the table"),
        ("wall brick-200 -1", "from 0 to 200"),
        ("wall brick-200 nan", "from 0 to 200"),
    ],
)
def test_losses_written_by_hand_are_checked(venue: Venue, owner: User, losses: str, words: str) -> None:
    values = {"reference_offset_db": 0.0, "path_loss_exponent": 2.0, "shadowing_sigma_db": 4.0, "furthest_m": 20.0}
    with pytest.raises(InvalidInput, match=words), edit(venue.project, by(owner)) as change:
        change.create([Calibration(venue=venue, name="mine", network="Show", losses=losses, **values)])


def test_channels_are_taken_here_and_kept_elsewhere(venue: Venue, owner: User) -> None:
    with edit(venue.project, by(owner)) as change:
        change.create(
            [OccupiedSpectrum(venue=venue, label="House", centre_mhz=2472.0, bandwidth_mhz=20.0, received_dbm=-50.0)]
        )
    best = channels_for(venue).choices[0]
    assert (best.present_channel, best.is_kept) == (25, False)
    apply_channels(caller(owner), venue)
    assert ChannelChoice.objects.get().radio_channel == best.radio_channel
    assert Network.objects.get(name="Show").radio_channel == 25
    assert build_scene(venue).network("Show").radio_channel == best.radio_channel
    assert channels_for(venue).choices[0].is_kept
    revision = venue.project.revision
    apply_channels(caller(owner), venue)
    assert venue.project.revision == revision


def test_strips_show_what_is_taken_and_what_is_ours(venue: Venue, owner: User) -> None:
    with edit(venue.project, by(owner)) as change:
        change.create([OccupiedSpectrum(venue=venue, label="House", centre_mhz=2472.0, bandwidth_mhz=20.0)])
    [strip] = spectrum_strips(venue)
    assert [one["label"] for one in strip["taken"]] == ["House"]
    assert strip["ours"][0]["radio_channel"] == 25
    taken = {one["radio_channel"] for one in strip["channels"] if one["taken_by"]}
    assert taken == {23, 24, 25, 26}


def test_the_full_house_is_planned_beside_the_empty_one(venue: Venue, owner: User) -> None:
    level = venue.levels.get()
    outline = [[16, 0], [28, 0], [28, 20], [16, 20]]
    with edit(venue.project, by(owner)) as change:
        change.create([CrowdArea(level=level, label="Stalls", corners_m=outline, height_m=1.8, loss_db_per_m=2.0)])
    empty, full = (links_of(venue, house)["networks"][0]["links"] for house in ("empty", "full"))
    losses = [(one["path_loss_db"], other["path_loss_db"]) for one, other in zip(empty, full, strict=True)]
    assert all(full_db >= empty_db for empty_db, full_db in losses)
    assert any(full_db > empty_db + 5 for empty_db, full_db in losses)
    assert links_of(venue)["house"] == "full"


def test_coverage_as_files(venue: Venue) -> None:
    import io

    import numpy as np

    found = coverage_of(venue, CoverageQuery("Hall", "Show", step_m=2.0))
    arrays = np.load(io.BytesIO(as_npz(found)))
    assert arrays["margin_db"].shape == (2, 10, 20)
    lines = as_csv(found).splitlines()
    assert lines[0] == "x_m,y_m,margin_db,second_margin_db,delivery,sender"
    assert len(lines) == 201
    assert found.zone_shares[0].zone == "Stage"
