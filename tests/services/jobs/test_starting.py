"""Asking for jobs: the same again, the same of another Scene, faults, rights; and taking them back."""

import pytest
from django.db import IntegrityError, connection
from django.test.utils import CaptureQueriesContext

from showplan.planner.scene_file import fingerprint, read
from showplan.records.models import Job, Level
from showplan.services.editing import edit
from showplan.services.errors import InvalidInput, NotAllowed, NotFound, PlanImpossible, RuleBroken
from showplan.services.jobs import queue, starting
from showplan.services.jobs.kinds import KINDS
from showplan.services.jobs.reading import job_named, job_values, jobs_of, result_in_words
from showplan.services.jobs.starting import cancel_job, start_job
from showplan.services.rights import Caller
from tests.api.at_once import all_at_once
from tests.services.jobs.conftest import fresh
from tests.tours import a_tour, by

pytestmark = pytest.mark.django_db


def _finish(worker, result):
    assert queue.finish(queue.claim_next(worker, KINDS), "done", result=result)


def _raise_the_roof(tour, owner):
    with edit(tour.project, by(owner)) as change:
        change.update(Level.objects.get(venue=tour.venue, name="Hall"), {"clear_height_m": 7.5})


def test_the_same_again_is_the_same_job(start, worker):
    job = start("steady", steps=4)
    assert start("steady", steps=4).pk == job.pk
    assert start("steady", steps=4, seed=0).pk == job.pk  # what was left out has its usual value
    assert start("steady", steps=5).pk != job.pk
    assert Job.objects.count() == 2
    _finish(worker, {"steps": 4})
    again = start("steady", steps=4)
    assert (again.pk, again.state, again.result) == (job.pk, "done", {"steps": 4})
    assert result_in_words(again) == ["4 steps were made."]


def test_another_planner_version_computes_anew(start, worker):
    job = start("steady")
    _finish(worker, 1)
    Job.objects.update(planner_version="1")
    assert start("steady").pk != job.pk


def test_a_failed_or_cancelled_job_is_no_answer(start, worker, owner):
    failed = start("steady")
    queue.finish(queue.claim_next(worker, KINDS), "failed", problem={"code": "x", "detail": "y"})
    cancelled = start("steady")
    cancel_job(Caller(owner), cancelled.pk)
    assert len({failed.pk, cancelled.pk, start("steady").pk}) == 3


def test_an_edited_venue_is_another_job_and_the_old_one_keeps_its_scene(tour, owner, start):
    before = start("steady")
    _raise_the_roof(tour, owner)
    after = start("steady")
    assert after.pk != before.pk
    assert after.scene_fingerprint != before.scene_fingerprint
    assert fingerprint(read(fresh(before).scene)) == before.scene_fingerprint


def test_two_venues_with_the_same_scene_have_jobs_of_their_own(owner, outsider):
    mine, theirs = a_tour(owner, 2, "Same name"), a_tour(outsider, 2, "Same name")
    one = start_job(Caller(owner), mine, "steady", {})
    other = start_job(Caller(outsider), theirs, "steady", {})
    assert one.scene_fingerprint == other.scene_fingerprint
    assert one.pk != other.pk


@pytest.mark.django_db(transaction=True)
def test_of_many_who_ask_at_once_all_get_one_job(start):
    jobs = all_at_once([lambda: start("steady")] * 6)
    assert len({job.pk for job in jobs}) == 1
    assert Job.objects.count() == 1


def test_the_database_itself_keeps_a_second_unfinished_one_out(start):
    job = start("steady")
    job.pk = None
    job._state.adding = True
    with pytest.raises(IntegrityError):
        job.save(force_insert=True)


@pytest.mark.parametrize(
    ("kind", "parameters", "fields"),
    [
        ("no-such-kind", {}, ["kind"]),
        ("steady", {"steps": 0, "colour": "red"}, ["colour", "steps"]),
        ("steady", {"steps": "3"}, ["steps"]),
        ("steady", {"step_s": float("nan")}, ["step_s"]),
        ("steady", {"word": "\x00"}, [""]),
        ("steady", {"word": "\ud800"}, [""]),
        ("steady", {"seed": 2**60}, [""]),
        ("coverage-of-levels", {"network": "Nobody's"}, ["network"]),
        ("coverage-of-levels", {"network": "Reserve"}, ["network"]),
        ("coverage-of-levels", {"step_m": 0.05}, ["step_m"]),
        ("coverage-of-levels", {"house": "half"}, ["house"]),
    ],
)
def test_faults_are_told_before_anything_is_written(kind, parameters, fields, start):
    with pytest.raises(InvalidInput) as refused:
        start(kind, **parameters)
    assert sorted({fault.field for fault in refused.value.faults}) == fields
    assert not Job.objects.exists()


def test_a_venue_that_cannot_be_planned_starts_nothing(tour, start):
    Level.objects.filter(venue=tour.venue, name="Gallery").update(clear_height_m=0.5, elevation_m=0.0)
    type(tour.venue).objects.filter(pk=tour.venue.pk).update(region="nowhere")
    tour.venue.refresh_from_db()
    with pytest.raises(PlanImpossible):
        start("steady")
    assert not Job.objects.exists()


def test_a_script_that_runs_wild_is_stopped(start, monkeypatch):
    monkeypatch.setattr(starting, "MOST_UNFINISHED", 2)
    start("steady", seed=1)
    start("steady", seed=2)
    with pytest.raises(RuleBroken, match="2 jobs of this venue wait already"):
        start("steady", seed=3)
    assert start("steady", seed=2).state == "waiting"


def test_rights(tour, owner, editor, viewer, outsider):
    job = start_job(Caller(editor), tour.venue, "steady", {})
    assert (job.started_by, job.started_by_name, job.via) == (editor, "edgar-editor", "page")
    with pytest.raises(NotAllowed):
        start_job(Caller(viewer), tour.venue, "steady", {})
    with pytest.raises(NotFound):
        start_job(Caller(outsider), tour.venue, "steady", {})
    assert job_named(Caller(viewer), job.pk) == job
    with pytest.raises(NotAllowed):
        cancel_job(Caller(viewer), job.pk)
    for look in (job_named, cancel_job):
        with pytest.raises(NotFound):
            look(Caller(outsider), job.pk)
    assert cancel_job(Caller(owner), job.pk).state == "cancelled"


def test_cancelling_what_waits_is_at_once_and_what_is_done_stays(start, worker, owner):
    waiting = start("steady", seed=1)
    cancelled = cancel_job(Caller(owner), waiting.pk)
    assert (cancelled.state, fresh(waiting).scene) == ("cancelled", "")
    assert queue.claim_next(worker, KINDS) is None
    done = start("steady", seed=2)
    _finish(worker, 5)
    assert cancel_job(Caller(owner), done.pk).state == "done"
    assert (fresh(done).result, fresh(done).cancel_requested) == (5, False)


def test_jobs_are_no_edits_and_go_with_their_venue(tour, owner, start, worker):
    tour.project.refresh_from_db()
    before, changes = tour.project.revision, tour.project.changes.count()
    start("steady")
    _finish(worker, 1)
    tour.project.refresh_from_db()
    assert (tour.project.revision, tour.project.changes.count()) == (before, changes)
    with edit(tour.project, by(owner)) as change:
        change.delete(tour.venue)
    assert not Job.objects.exists()
    assert not tour.project.changes.filter(record_kind="Job").exists()


def test_queries_do_not_grow(owner, start, tour):
    def queries(call):
        with CaptureQueriesContext(
            connection,
        ) as captured:
            call()
        return [query["sql"] for query in captured.captured_queries]

    small, large = a_tour(owner, 3, "Small"), a_tour(owner, 6, "Large")
    few, many = (queries(lambda venue=venue: start_job(Caller(owner), venue, "steady", {})) for venue in (small, large))
    assert len(few) == len(many), "\n".join(many)
    start("steady", seed=1)
    one = queries(lambda: [job_values(job) for job in jobs_of(tour.venue).defer(None)])
    start("steady", seed=2)
    assert len(queries(lambda: [job_values(job) for job in jobs_of(tour.venue).defer(None)])) == len(one) == 1
