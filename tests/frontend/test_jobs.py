"""The page of work in progress: what it tells, who may start and cancel, and how often it asks the database."""

import pytest
from django.db import connection
from django.db.models.functions import Now
from django.test.utils import CaptureQueriesContext

from showplan.records.models import Job, Level, Worker
from showplan.services.editing import edit
from showplan.services.jobs import queue
from showplan.services.jobs.kinds import KINDS
from showplan.services.jobs.starting import start_job
from showplan.services.rights import Caller
from tests.frontend.editing.desk import fill_in, forged, forms_of, send
from tests.frontend.pages import signed_in, words_of
from tests.tours import by

pytestmark = pytest.mark.django_db
KIND = "coverage-of-levels"


@pytest.fixture
def address(tour):
    """The venue's jobs."""
    return f"/venues/{tour.venue.pk}/jobs/"


def _claimed():
    worker = Worker.objects.create(name="here 1", heartbeat=Now())
    return queue.claim_next(worker, KINDS)


def _done(tour, user, step_m=2.0):
    start_job(Caller(user), tour.venue, KIND, {"step_m": step_m})
    run = _claimed()
    zone = {"zone": "Stage", "served": 0.987, "mean_delivery": 0.99, "worst_delivery": 0.9}
    level = {"level": "Hall", "network": "Show", "house": "empty", "share_served": 0.9999, "zones": [zone]}
    queue.finish(run, "done", result={"step_m": step_m, "levels": [level]})
    return run


def test_starting_watching_and_reading_the_result(tour, editor, address):
    client = signed_in(editor)
    assert "Nothing has been computed in the background" in words_of(client.get(address))
    assert fill_in(client, address, **{f"{KIND}-step_m": "2"}).status_code == 302
    page = client.get(address)
    assert "the job is in the list" in words_of(page)
    assert "No worker is running" in words_of(page)
    assert b'hx-trigger="every 2s"' in page.content
    run = _claimed()
    queue.note(run, 0.42, "level Hall, network Show", {"best": 7.0, "bound": 5.0})
    words = words_of(client.get(address))
    assert "42 %, level Hall, network Show" in words
    assert "best so far 7, no answer can beat 5" in words
    assert "No worker is running" not in words
    assert "42 %" in words_of(client.get(f"/jobs/{run.pk}/"))
    assert client.get(f"/jobs/{run.pk}/result.json").status_code == 404
    queue.finish(run, "failed", problem={"code": "cannot-compute", "detail": "there is no floor"})
    page = client.get(address)
    assert "there is no floor" in words_of(page)
    assert b"hx-trigger" not in page.content
    assert "there is no floor" in words_of(client.get(f"/jobs/{run.pk}/"))


def test_the_result_in_words_and_as_a_file(tour, viewer, owner, address):
    run, client = _done(tour, owner), signed_in(viewer)
    words = words_of(client.get(f"/jobs/{run.pk}/"))
    assert "Hall, network Show, house empty: 99.9 % of the level keeps the fade margin" in words
    assert "of Stage, the least served zone, 98.7 % gets 99 % of the packets" in words
    assert "Side of a cell (m) 2 " in words
    assert "Only this network all" in words
    file = client.get(f"/jobs/{run.pk}/result.json")
    assert file["Content-Disposition"].startswith('attachment; filename="coverage-of-levels-')
    assert file.json()["levels"][0]["level"] == "Hall"
    assert "earlier state" not in words_of(client.get(address))
    with edit(tour.project, by(owner)) as change:
        change.update(Level.objects.get(venue=tour.venue, name="Hall"), {"clear_height_m": 7.5})
    assert "of an earlier state of the venue" in words_of(client.get(address))
    assert "The venue has changed since" in words_of(client.get(f"/jobs/{run.pk}/"))
    Level.objects.filter(venue=tour.venue).update(floor_material="no such thing")  # nothing can be planned any more
    assert "of an earlier state of the venue" in words_of(client.get(address))


def test_the_same_again_says_that_it_is_there(tour, owner, address):
    _done(tour, owner)
    client = signed_in(owner)
    fill_in(client, address, **{f"{KIND}-step_m": "2"})
    assert "this was computed already" in words_of(client.get(address))


def test_faults_stand_beside_their_fields(tour, owner, address):
    client = signed_in(owner)
    response = fill_in(client, address, **{f"{KIND}-step_m": "0.001", f"{KIND}-network": "Nobody's"})
    assert response.status_code == 409
    assert "greater than or equal to 0.05" in words_of(response)
    response = fill_in(client, address, **{f"{KIND}-network": "Nobody's"})
    assert "There is no network of that name; known: Reserve, Show" in words_of(response)
    assert fill_in(client, address, kind="horoscope").status_code == 409
    assert "This is missing" not in words_of(fill_in(client, address, **{f"{KIND}-step_m": "x"}))
    assert not Job.objects.exists()


def test_cancelling_by_the_button(tour, owner, address):
    client = signed_in(owner)
    starting = len(forms_of(client.get(address)))
    fill_in(client, address, **{f"{KIND}-step_m": "2"})
    assert send(client, client.get(address), address).status_code == 302
    words = words_of(client.get(address))
    assert "The job is cancelled." in words
    assert Job.objects.get().state == "cancelled"
    start_job(Caller(owner), tour.venue, KIND, {"step_m": 3})
    _claimed()
    send(client, client.get(address), address)
    words = words_of(client.get(address))
    assert "that takes a few seconds" in words
    assert "being cancelled" in words
    assert len(forms_of(client.get(address))) == starting  # nothing is cancelled twice


def test_a_script_fetches_the_list_alone(tour, owner, address):
    start_job(Caller(owner), tour.venue, KIND, {"step_m": 2})
    fragment = signed_in(owner).get(address, headers={"HX-Request": "true"})
    assert fragment.content.lstrip().startswith(b'<div id="jobs"')
    assert b"<html" not in fragment.content
    assert b"csrfmiddlewaretoken" in fragment.content


def test_who_may(tour, owner, viewer, outsider, address):
    start_job(Caller(owner), tour.venue, KIND, {"step_m": 2})
    job = Job.objects.get()
    reader = signed_in(viewer)
    page = reader.get(address)
    assert (page.status_code, forms_of(page)) == (200, [])
    assert forged(reader, address, kind=KIND).status_code == 403
    assert forged(reader, f"/jobs/{job.pk}/cancel/").status_code == 403
    stranger = signed_in(outsider)
    for path in (address, f"/jobs/{job.pk}/", f"/jobs/{job.pk}/result.json"):
        assert stranger.get(path).status_code == 404
    assert forged(stranger, f"/jobs/{job.pk}/cancel/").status_code == 404
    Job.objects.update(venue=None)  # of a whole project: there is no page for such a one
    assert signed_in(owner).get(f"/jobs/{job.pk}/").status_code == 404


def test_more_jobs_ask_no_more(tour, owner, address):
    client = signed_in(owner)

    def queries():
        with CaptureQueriesContext(connection) as captured:
            assert client.get(address).status_code == 200
        return [query["sql"] for query in captured.captured_queries]

    _done(tour, owner, 2.0)
    few = queries()
    for step_m in (3.0, 4.0, 5.0):
        _done(tour, owner, step_m)
    many = queries()
    assert len(few) == len(many), "\n".join(many)
