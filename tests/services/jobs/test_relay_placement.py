"""Relay placement from the question to the venue: asked as a job, computed, applied, planned anew."""

import json

import pytest

from showplan.planner.readiness import plan
from showplan.planner.watch import Unwatched
from showplan.records.models import CandidateSite, Job, Level, Node, Placement, Venue, Wall
from showplan.services.editing import edit
from showplan.services.errors import InvalidInput
from showplan.services.jobs.child import outcome_of
from showplan.services.jobs.kind import read_parameters
from showplan.services.jobs.kinds.relay_placement import KIND, in_words
from showplan.services.jobs.starting import start_job
from showplan.services.relay_placing import apply_relay_job
from showplan.services.rights import Caller
from showplan.services.scenes import build_scene
from tests.tours import a_tour, a_user, by

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner():
    return a_user()


@pytest.fixture
def venue(owner):
    """The tour's hall cut in two by metal up to the roof but for a gap by its upper edge; two nodes are behind it."""
    venue = Venue.objects.select_related("project").get(pk=a_tour(owner).pk)
    level = Level.objects.get(venue=venue)
    level.venue = venue
    with edit(venue.project, by(owner)) as change:
        wall = {"start_x_m": 22.0, "start_y_m": 0.0, "end_x_m": 22.0, "end_y_m": 17.0, "height_m": 6.0}
        change.create([Wall(level=level, label="Shutter", material="metal", **wall)])
        sites = {"gap": (22.0, 19.0), "corner": (1.0, 1.0), "far corner": (39.0, 19.0)}
        change.create(
            [
                CandidateSite(level=level, label=label, x_m=x, y_m=y, height_m=3.0, has_mains=label != "gap")
                for label, (x, y) in sites.items()
            ]
        )
        for label, (x, y) in {"N6": (38.0, 2.0), "N7": (30.0, 3.0)}.items():
            placement = Placement.objects.get(node__label=label)
            placement.venue, placement.node = venue, Node.objects.get(label=label)
            placement.node.project = venue.project
            change.update(placement, {"x_m": x, "y_m": y, "level": level})
    return venue


WISHES = {"network": "Show", "relay_type": "Pocket", "extra_margin_db": 6.0, "present_sites": False}


def _computed(job, watch=None):
    """What a worker's computing process makes of the job."""
    task = {
        "compute": f"{KIND.compute.__module__}:{KIND.compute.__qualname__}",
        "model": f"{KIND.parameters.__module__}:{KIND.parameters.__qualname__}",
        "parameters": job.parameters,
        "scene": job.scene,
    }
    return outcome_of(task, watch or Unwatched())["result"]


def _done(owner, venue, **wishes):
    job = start_job(Caller(owner), venue, KIND.name, WISHES | wishes)
    Job.objects.filter(pk=job.pk).update(state=Job.State.DONE, result=_computed(job), scene="")
    return Job.objects.get(pk=job.pk)


def test_the_placement_found_makes_the_venue_work(owner, venue):
    with edit(venue.project, by(owner)) as change:
        relay = Placement.objects.get(node__label="N1")
        relay.venue = venue
        change.delete(relay)
    before = plan(build_scene(venue)).analysis.routes["Show"]
    job = _done(owner, venue)
    assert job.result["state"] == "optimal"
    assert job.result["proven"] == {"cost": True, "delivery": True, "air": True}
    chosen = [relay["site"] for relay in job.result["placements"][0]["relays"]]
    assert in_words(job.result)[0] == f"{len(chosen)} relay for network Show: no smaller set of relays will do."
    apply_relay_job(Caller(owner), job.pk)
    routes = plan(build_scene(venue)).analysis.routes["Show"]
    assert set(routes) >= set(before) | {"N6", "N7"}
    for told in job.result["placements"][0]["routes"]:
        # The planner's own best route, which has no hop limit, is at least as good as the one that was promised.
        assert routes[told["node"]].delivery >= told["delivery"] - 1e-9


def test_the_same_question_has_the_same_answer(owner, venue):
    job = start_job(Caller(owner), venue, KIND.name, WISHES)
    assert json.dumps(_computed(job)) == json.dumps(_computed(job))


def test_a_forbidden_site_is_done_without(owner, venue):
    first = _done(owner, venue)
    [used, *_] = [relay["site"] for relay in first.result["placements"][0]["relays"]]
    second = _done(owner, venue, never=[used])
    assert all(relay["site"] != used for one in second.result["placements"] for relay in one["relays"])


def test_mains_only_leaves_the_gap_out(owner, venue):
    result = _done(owner, venue, needs_mains=True).result
    assert all(relay["has_mains"] for one in result["placements"] for relay in one["relays"])


def test_what_cannot_be_served_says_whom_and_why(owner, venue):
    result = _done(owner, venue, extra_margin_db=40.0).result
    assert (result["state"], result["placements"]) == ("infeasible", [])
    assert {"N6", "N7"} <= {node for reason in result["reasons"] for node in reason["nodes"]}
    assert all(sentence.endswith(".") for sentence in in_words(result))


def test_too_few_relays_say_how_many_nodes_they_serve(owner, venue):
    result = _done(owner, venue, most_relays=0).result
    most = result["most_served"]
    assert (most["relays"], most["left_out"], most["is_proven"]) == ([], ["N6", "N7"], True)
    assert "With 0 relays, 4 of 6 nodes can be served; no choice of sites serves more." in in_words(result)


@pytest.mark.parametrize(
    ("wishes", "field"),
    [
        ({"network": "Shaw"}, "network"),
        ({"most_hops": 0}, "most_hops"),
        ({"must": ["gap"], "never": ["gap"]}, "must"),
        ({"given_sites": False}, "sites"),
        ({"grids": [{"level": "Hall", "height_m": 3.0, "step_m": 0.1}]}, "grids/0/step_m"),
        ({"grids": [{"level": "Attic", "height_m": 3.0}]}, "grids/0/level"),
        ({"must": ["nowhere"]}, "must/0"),
        ({"hops": 3}, "hops"),
    ],
)
def test_what_cannot_be_asked_is_said_at_once(owner, venue, wishes, field):
    with pytest.raises(InvalidInput) as refused:
        start_job(Caller(owner), venue, KIND.name, WISHES | wishes)
    assert field in {fault.field for fault in refused.value.faults}
    assert not Job.objects.exists()


@pytest.mark.parametrize(("points", "entries"), [(1, "at least 2 entries, not 1"), (51, "at most 50 entries, not 51")])
def test_a_list_of_the_wrong_length_is_refused_in_plain_words(points: int, entries: str) -> None:
    line = {"level": "Hall", "points_m": [[float(n), 0.0] for n in range(points)], "height_m": 3.0}
    with pytest.raises(InvalidInput) as refused:
        read_parameters(KIND, {"network": "Show", "relay_type": "Pocket", "lines": [line]})
    assert [(one.field, one.message) for one in refused.value.faults] == [("lines/0/points_m", f"must have {entries}")]
