"""The page of relays and failures: asking, watching, comparing, taking and undoing; who may; how often it asks."""

import pytest
from django.db import connection
from django.db.models.functions import Now
from django.test.utils import CaptureQueriesContext

from frontend import relay_form
from showplan.records.models import Job, Level, Node, NodeType, Placement, Worker
from showplan.services.editing import edit
from showplan.services.jobs import queue
from showplan.services.jobs.kinds import KINDS
from showplan.services.jobs.starting import start_job
from showplan.services.rights import Caller
from tests.frontend.editing.desk import fill_in, forged, forms_of, send
from tests.frontend.pages import signed_in, words_of
from tests.relay_jobs import WISHES, add_sites, finished_job, infeasible_job
from tests.tours import by

pytestmark = pytest.mark.django_db


@pytest.fixture
def address(tour, owner):
    """The page of a venue with three candidate sites."""
    add_sites(tour.venue, owner)
    return f"/venues/{tour.venue.pk}/relays/"


def _form(page, do, **fields):
    """The number of the page's form that does this."""
    wanted = {"do": do, **fields}
    forms = forms_of(page)
    return next(n for n, form in enumerate(forms) if wanted.items() <= form["fields"].items())


def _press(client, address, do, changes=None, **fields):
    page = client.get(address)
    return send(client, page, address, nth=_form(page, do, **fields), **(changes or {}))


def test_asking_starts_the_job_and_shows_how_it_fares(address, editor):
    client = signed_in(editor)
    assert "Nothing was planned for this venue yet" in words_of(client.get(address))
    response = _press(client, address, "start", {"most_hops": "3", "most_relays": "5", "needs_mains": "on"})
    job = Job.objects.get()
    assert (response.status_code, response.url) == (302, f"{address}?job={job.pk}")
    asked = job.parameters
    assert (asked["network"], asked["relay_type"], asked["most_hops"], asked["most_relays"]) == ("Show", "Pocket", 3, 5)
    assert (asked["needs_mains"], asked["grids"], asked["air"]) == (True, [], None)
    page = client.get(response.url)
    assert "No worker is running" in words_of(page)
    assert b'hx-trigger="every 2s"' in page.content
    run = queue.claim_next(Worker.objects.create(name="here 1", heartbeat=Now()), KINDS)
    queue.note(run, 0.42, "searching", {"best": 3.0, "bound": 2.0})
    fragment = client.get(response.url, headers={"HX-Request": "true"})
    assert fragment.content.lstrip().startswith(b'<div id="relay-progress"')
    assert "42 %, searching; best so far 3 cost, no answer can beat 2 cost" in words_of(fragment)
    assert (
        send(client, client.get(response.url), address, nth=_form(client.get(response.url), "cancel")).status_code
        == 302
    )
    assert "being cancelled" in words_of(client.get(response.url))


def test_the_answer_comes_with_the_last_fragment(tour, owner, address):
    job = finished_job(tour.venue, owner, ["Left truss"])
    fragment = signed_in(owner).get(f"{address}?job={job.pk}", headers={"HX-Request": "true"})
    assert b"hx-trigger" not in fragment.content
    assert b'<div id="relay-result" hx-swap-oob="true">' in fragment.content
    assert "Use this placement 1" in words_of(fragment)


def test_all_wishes_of_the_form_reach_the_job(address, owner):
    client = signed_in(owner)
    changes = {
        "routes": "2",
        "two_routes_for": ["Stage"],
        "must": ["Bar shelf"],
        "never": ["Left truss", "Right truss"],
        "least_delivery": "0.8",
        "layout_0": "grid",
        "step_m_0": "8",
        "layout_1": "edges",
        "height_m_1": "2.5",
        "air_kind": "repeated",
        "packet_octets": "100",
        "gateways_to_choose": "1",
        "present_sites": None,
        "seconds": "30",
    }
    assert _press(client, address, "start", changes).status_code == 302
    asked = Job.objects.get().parameters
    assert (asked["routes"], asked["two_routes_for"], asked["least_delivery"]) == (2, ["Stage"], 0.8)
    assert (asked["must"], asked["never"]) == (["Bar shelf"], ["Left truss", "Right truss"])
    assert asked["grids"] == [{"level": "Hall", "height_m": 3.0, "step_m": 8.0}]
    assert asked["edges"] == [{"level": "Gallery", "height_m": 2.5, "step_m": 3.0}]
    assert asked["air"] == {"kind": "repeated", "packet_octets": 100, "packets": 1, "refresh_hz": 20.0, "share": 0.5}
    assert (asked["gateways_to_choose"], asked["present_sites"], asked["seconds"]) == (1, False, 30.0)
    # The form of the next question begins with what was asked.
    page = client.get(address)
    fields = forms_of(page)[_form(page, "start")]["fields"]
    assert (fields["routes"], fields["layout_0"], fields["step_m_0"], fields["air_kind"]) == (
        "2",
        "grid",
        "8",
        "repeated",
    )


def test_what_the_form_has_no_field_for_is_asked_again(tour, owner, address):
    line = {"level": "Hall", "points_m": [[1, 1], [9, 1]], "height_m": 3.0, "step_m": 2.0}
    grids = [{"level": "Hall", "height_m": height_m, "step_m": 8.0} for height_m in (2.0, 4.0)]
    finished_job(tour.venue, owner, ["Left truss"], lines=[line], grids=grids)
    client = signed_in(owner)
    words = words_of(client.get(address))
    assert "from the planning shown: 1 line of sites, 1 further grid" in words
    _press(client, address, "start", {"most_hops": "3"})
    asked = Job.objects.first().parameters
    assert (asked["most_hops"], asked["grids"]) == (3, grids)
    assert asked["lines"][0]["step_m"] == 2.0


def test_faults_stand_beside_their_fields_and_nothing_typed_is_lost(address, owner):
    client = signed_in(owner)
    wrong = {"most_hops": "many", "least_delivery": "0.75"}
    response = _press(client, address, "start", wrong)
    assert response.status_code == 409
    fields = forms_of(response)[_form(response, "start")]["fields"]
    assert (fields["most_hops"], fields["least_delivery"]) == ("many", "0.75")
    response = _press(client, address, "start", {"most_hops": "40", "layout_0": "grid", "height_m_0": "50"})
    assert "less than or equal to 12" in words_of(response)
    response = _press(client, address, "start", {"layout_0": "grid", "height_m_0": "50", "layout_1": "grid"})
    words = words_of(response)
    assert "50 m is above the clear height of 'Hall', 6 m" in words
    html = response.content.decode()
    assert html.index('id="wish_height_m_0"') < html.index("50 m is above") < html.index('id="wish_layout_1"')
    response = _press(client, address, "start", {"must": ["Bar shelf"], "never": ["Bar shelf"]})
    assert "is also among" in words_of(response)
    response = _press(client, address, "start", {"given_sites": None, "present_sites": None})
    assert "There is no site: draw candidate sites" in words_of(response)
    assert not Job.objects.exists()


def test_the_keyboard_begins_at_the_first_fault_and_the_top_of_the_page_says_so(address, owner):
    client = signed_in(owner)
    response = _press(client, address, "start", {"most_hops": "0", "seconds": "0"})
    assert "Nothing was started: the form says what is to correct." in words_of(response)
    html = response.content.decode()
    assert html.count("autofocus") == 1
    assert "autofocus" in html[html.index('name="most_hops"') : html.index('id="wish_most_hops"')]
    assert "autofocus" not in client.get(address).content.decode()


def test_more_sites_than_boxes_are_named_line_by_line(tour, address, owner, monkeypatch):
    monkeypatch.setattr(relay_form, "MOST_BOXES", 2)
    client = signed_in(owner)
    names = {"must": "Bar shelf\r\n  Left truss  \r\n\r\n", "never": "Right truss\r\nNo such"}
    response = _press(client, address, "start", names)
    assert response.status_code == 409
    assert "There is no site 'No such'." in words_of(response)
    fields = forms_of(response)[_form(response, "start")]["fields"]
    assert fields["never"].split() == ["Right", "truss", "No", "such"]
    assert _press(client, address, "start", names | {"never": "Right truss"}).status_code == 302
    asked = Job.objects.get().parameters
    assert (asked["must"], asked["never"]) == (["Bar shelf", "Left truss"], ["Right truss"])
    page = client.get(address)
    assert forms_of(page)[_form(page, "start")]["fields"]["must"] == "Bar shelf\nLeft truss"


def test_a_node_type_that_does_not_fit_is_refused_with_those_that_do(tour, address, owner):
    facts = {"transmit_power_dbm": 3.0, "sensitivity_dbm": -97.0, "outputs": 4}
    with edit(tour.project, by(owner)) as change:
        change.create([NodeType(project=tour.project, name="Other", phy="oqpsk-915", **facts)])
    response = _press(signed_in(owner), address, "start", {"relay_type": "Other"})
    assert "choose a node type that speaks it too; known: Pocket." in words_of(response)


def test_earlier_plannings_are_told_apart_by_what_they_asked(tour, owner, address):
    demand = {"name": "N2", "least_delivery": 0.9, "extra_margin_db": 3.0}
    finished_job(tour.venue, owner, ["Left truss"], never=["Bar shelf"])
    finished_job(tour.venue, owner, ["Left truss"], demands=[demand])
    words = words_of(signed_in(owner).get(address))
    assert "never: Bar shelf" in words
    assert "demands: N2 (extra margin 3 dB, least delivery 0.9)" in words


def test_cancelled_before_anything_was_found(tour, owner, address):
    job = start_job(Caller(owner), tour.venue, "relay-placement", WISHES)
    Job.objects.filter(pk=job.pk).update(state="cancelled", scene="")
    words = words_of(signed_in(owner).get(address))
    assert "It was cancelled before there was anything to keep." in words


def test_placements_stand_side_by_side_with_plans_numbers_and_routes(tour, viewer, owner, address):
    job = finished_job(tour.venue, owner, ["Left truss"], ["Bar shelf"])
    page = signed_in(viewer).get(address)
    words = words_of(page)
    assert "Proven best: the cost, the worst delivery at that cost and the air time at both." in words
    assert "Placement 1, the best" in words
    assert "Placement 2" in words
    assert "Left truss Hall, x 8.0 m, y 12.0 m, 4 m high, mains" in words
    assert "More relays for a better worst delivery" in words
    best = job.result["placements"][0]
    assert all(route["node"] in words for route in best["routes"])
    html = page.content.decode()
    assert html.count('class="node relay"') == 3  # one in each placement, one in the key
    assert "moves in Stage</title>" in html
    assert "<title>relay Left truss</title>" in html
    assert "<title>gateway N0</title>" in html
    assert "<title>candidate site Right truss, without a relay</title>" in html
    assert "Use this placement" not in words  # a viewer looks
    assert not forms_of(page)


def test_taking_a_placement_and_undoing_it(tour, owner, editor, address):
    job = finished_job(tour.venue, owner, ["Left truss"], ["Left truss", "Right truss"])
    client = signed_in(editor)
    lacking = _press(client, address, "apply", placement="1")
    assert lacking.status_code == 409
    assert "Nothing was done. Network 'Show' lacks 1 relay of type Pocket in the kit" in words_of(lacking)
    response = _press(client, address, "apply", {"make_missing": "on"}, placement="1")
    assert response.status_code == 302
    page = client.get(response.url)
    words = words_of(page)
    assert "The placement is taken, 2 nodes changed. Moved: N1; new in the kit and placed: Show relay 1." in words
    assert "The venue has changed since this was planned, so it cannot be taken now" in words
    assert page.content.count(b"disabled aria-describedby") == 2
    assert Placement.objects.get(node__label="N1").x_m == 8.0
    tour.project.refresh_from_db()
    undo = f"/projects/{tour.project.pk}/history/{tour.project.revision}/undo/"
    assert f'href="{undo}"' in page.content.decode()
    fill_in(client, undo)
    assert Placement.objects.get(node__label="N1").x_m == 5.5
    assert not Node.objects.filter(label="Show relay 1").exists()
    assert "The venue has changed since" not in words_of(client.get(f"{address}?job={job.pk}"))
    assert undo not in client.get(response.url).content.decode()


def test_a_stale_answer_is_refused_even_where_the_button_is_still_on_an_open_page(tour, owner, address):
    finished_job(tour.venue, owner, ["Left truss"])
    client = signed_in(owner)
    page = client.get(address)
    with edit(tour.project, by(owner)) as change:
        change.update(Level.objects.get(venue=tour.venue, name="Hall"), {"clear_height_m": 7.5})
    response = send(client, page, address, nth=_form(page, "apply"))
    assert response.status_code == 409
    assert "The venue has changed since this was planned: plan again" in words_of(response)
    assert Placement.objects.get(node__label="N1").x_m == 5.5


def test_a_level_that_is_gone_leaves_the_rest_of_an_old_answer(tour, owner, address):
    finished_job(tour.venue, owner, ["Left truss"])
    with edit(tour.project, by(owner)) as change:
        change.update(Level.objects.get(venue=tour.venue, name="Hall"), {"name": "Great hall"})
    assert "Left truss" in words_of(signed_in(owner).get(address))


def test_what_if_a_site_is_forbidden(tour, owner, address):
    first = finished_job(tour.venue, owner, ["Left truss"], must=["Left truss"])
    client = signed_in(owner)
    response = _press(client, address, "without", site="Left truss")
    assert response.status_code == 302
    second = Job.objects.exclude(pk=first.pk).get()
    assert (second.parameters["never"], second.parameters["must"]) == (["Left truss"], [])
    assert {**second.parameters, "never": [], "must": ["Left truss"]} == first.parameters
    assert response.url == f"{address}?job={second.pk}"


def test_no_placement_is_explained(tour, owner, address):
    infeasible_job(tour.venue, owner, most_relays=1)
    words = words_of(signed_in(owner).get(address))
    assert "No placement for network Show" in words
    assert "3 relays are needed, the truck holds 1. most relays in the truck 3" in words
    assert "With 1 relay, 5 of 7 nodes can be served; no choice of sites serves more. Relays at: Bar shelf." in words
    assert "Left out: N2, N3." in words


def test_the_failure_view_says_who_goes_dark(tour, viewer, address):
    words = words_of(signed_in(viewer).get(address))
    assert "What failures do" in words
    assert "■ N0 gateway or relay" in words
    assert signed_in(viewer).get(f"{address}?house=half").status_code == 404


def test_where_nothing_is_reached_no_failure_counts_as_harmless(tour, owner, address):
    with edit(tour.project, by(owner)) as change:
        for placement in Placement.objects.filter(venue=tour.venue, node__role="gateway").select_related("node"):
            placement.venue = tour.venue
            change.delete(placement)
    words = words_of(signed_in(owner).get(address))
    assert "No node is reached from a gateway as the nodes stand now" in words
    assert "✓ N1" not in words


def test_the_jobs_page_leads_to_it_and_has_no_form_for_it(tour, owner, address):
    client, jobs = signed_in(owner), f"/venues/{tour.venue.pk}/jobs/"
    job = finished_job(tour.venue, owner, ["Left truss"])
    page = client.get(jobs)
    assert f'href="{address}"' in page.content.decode()
    assert b"relay-placement-network" not in page.content
    assert "relay type: Pocket" in words_of(page)
    assert "must: none" not in words_of(page)  # what is usual is not told
    assert forged(client, jobs, kind="relay-placement").status_code == 409
    assert f"{address}?job={job.pk}" in client.get(f"/jobs/{job.pk}/").content.decode()


def test_a_venue_that_cannot_be_planned_any_more_says_why(tour, owner, address):
    job = finished_job(tour.venue, owner, ["Left truss"])
    Level.objects.filter(venue=tour.venue).update(floor_material="no such thing")
    client = signed_in(owner)
    assert "floor_material" in words_of(client.get(address))
    fragment = client.get(f"{address}?job={job.pk}", headers={"HX-Request": "true"})
    assert fragment["HX-Refresh"] == "true"
    assert "floor_material" in words_of(forged(client, address, do="apply", job=str(job.pk), placement="0"))


def test_lists_of_sites_show_weight_and_relay_use(tour, owner, address):
    words = words_of(signed_in(owner).get(f"/venues/{tour.venue.pk}/records/candidate-sites/"))
    assert "Weight of the site against others" in words
    assert "A relay on it" in words


def test_who_may(tour, owner, viewer, outsider, address):
    job = finished_job(tour.venue, owner, ["Left truss"])
    for do in ("start", "apply", "cancel", "without"):
        fields = {"do": do, "job": str(job.pk), "placement": "0", "site": "Left truss"}
        assert forged(signed_in(viewer), address, **fields).status_code == 403
        assert forged(signed_in(outsider), address, **fields).status_code == 404
    client = signed_in(owner)
    assert client.get(f"{address}?job=nonsense").status_code == 404
    assert forged(client, address, do="dance").status_code == 409
    assert forged(client, address, do="apply", job=str(job.pk), placement="x").status_code == 409
    assert Job.objects.count() == 1


def test_more_plannings_and_sites_ask_no_more(tour, owner, address):
    client = signed_in(owner)

    def queries():
        with CaptureQueriesContext(connection) as captured:
            assert client.get(address).status_code == 200
        return [query["sql"] for query in captured.captured_queries]

    finished_job(tour.venue, owner, ["Left truss"])
    few = queries()
    for hops in (2, 3, 5):
        finished_job(tour.venue, owner, ["Left truss", "Right truss"], ["Bar shelf"], most_hops=hops)
    many = queries()
    assert len(few) == len(many), "\n".join(many)


def test_a_job_of_another_venue_is_not_shown(tour, owner, address):
    start_job(Caller(owner), tour.venue, "relay-placement", WISHES)
    other = start_job(Caller(owner), tour.venue, "coverage-of-levels", {"step_m": 2})
    assert signed_in(owner).get(f"{address}?job={other.pk}").status_code == 404
