"""The page of the show's data: its figures are the service's; ways of sending, asking for and reading a simulation."""

import pytest
from django.db.models.functions import Now

from frontend.present.time_parts import time_picture
from frontend.present.words import in_digits, percent
from showplan.records.models import Job, Node, ShowTimeline, Traffic, Worker
from showplan.services.air import air_of_venue, strategies_of_venue
from showplan.services.editing import edit
from showplan.services.jobs import queue
from showplan.services.jobs.kinds import KINDS
from tests.air_jobs import simulated_job, simulated_result
from tests.frontend.editing.desk import fill_in, forged, forms_of
from tests.frontend.pages import signed_in, words_of
from tests.tours import by

pytestmark = pytest.mark.django_db
STEM = "packet-simulation"


@pytest.fixture
def address(tour):
    """The page of the venue's data."""
    return f"/venues/{tour.venue.pk}/air/"


def _form(page, do):
    return next(n for n, form in enumerate(forms_of(page)) if form["fields"].get("do") == do)


def _ask(client, address, **changes):
    page = client.get(address)
    return fill_in(client, address, nth=_form(page, "start"), **{f"{STEM}-{k}": v for k, v in changes.items()})


def test_the_figures_are_those_of_the_service(address, tour, viewer):
    [network] = air_of_venue(tour.venue)["networks"]
    words = words_of(signed_in(viewer).get(address))
    served = [node for node in network["nodes"] if node["slots"]]
    last = max(served, key=lambda node: (node["latency"]["p95_ms"], node["label"]))
    worst = min(served, key=lambda node: (node["delivery"], node["label"]))
    stale = max(served, key=lambda node: (node["longest_stale_s"], node["label"]))
    p50, p95, p99 = last["latency"].values()
    for told in (
        f"{in_digits(network['refresh_hz'], 3)} frames a second 25 a second wanted: fits",
        f"held down by the {network['limit']['name']} {network['limit']['reason']}",
        f"{network['air_time_ms']:.1f} ms all senders together",
        f"radio channel in use ✓ {percent(network['utilisation'])}",
        f"{p50:.1f}, {p95:.1f}, {p99:.1f} ms for 50, 95 and 99 % of the frames to {last['label']}",
        f"worst delivery {percent(worst['delivery'])} of the frames reach {worst['label']} whole",
        f"{in_digits(stale['longest_stale_s'], 2)} s {stale['label']}: holds its levels after 1 s without a frame",
        "the region sets no limit",
        "Network Show",
        "Does the data fit? ▲ 1 to look at",
        "Sending not entered for Show: 25 frames a second",
        "Before you rely on this",
    ):
        assert told in words
    for node in network["nodes"]:
        parts = [f"own {percent(node['sending_share'])}", f"overheard {percent(node['overheard_share'])}"]
        load = f"{percent(node['channel_load'])} {', '.join(parts)}, others {percent(node['others_share'])}"
        assert f"{node['label']} {node['role']}, {node['slots']} slots {load}" in words
    assert "Simulate it" not in words  # a viewer starts nothing


def test_a_timeline_tells_how_many_levels_change_and_when(address, tour, owner, viewer):
    """Three slots in one frame, ten seconds later one: two cues."""
    project = tour.project
    rows = "10,1,255\n10,2,255\n10,3,255\n20,1,0"
    with edit(project, by(owner)) as change:
        for slot, load in enumerate(project.loads.order_by("label"), 1):
            change.update(load, {"slot": slot})
        [act] = change.create([ShowTimeline(project=project, name="Act", rows=rows)])
        network = project.networks.get(name="Show")
        change.create([Traffic(project=project, network=network, coding="changes", timeline=act)])
    [network] = air_of_venue(tour.venue)["networks"]
    words = words_of(signed_in(viewer).get(address))
    assert f"levels that change {percent(network['timeline']['changes']['peak'])} in the busiest second" in words
    assert "timeline Act, at 10 s; every figure here is for it." in words
    share = percent(3 / network["slots"])
    assert f"cues 2 those that change most: {share} at 10 s, {percent(1 / network['slots'])} at 20 s" in words


def test_own_overheard_and_others_make_the_channel_load(tour):
    for network in air_of_venue(tour.venue)["networks"]:
        for node in network["nodes"]:
            free = (1 - node["sending_share"] - node["overheard_share"]) * (1 - node["others_share"])
            assert node["channel_load"] == pytest.approx(1 - free)


def test_nodes_stand_worst_first_or_as_wanted(address, tour, viewer):
    client = signed_in(viewer)
    [network] = air_of_venue(tour.venue)["networks"]

    def order(query=""):
        html = client.get(f"{address}{query}").content.decode()
        table = html[html.index('class="stacked air-nodes"') :]
        return [part.split(" ")[0] for part in table[: table.index("</table>")].split('<th scope="row">')[1:]]

    served = sorted((node["delivery"], node["label"]) for node in network["nodes"] if node["slots"])
    assert order()[0] == served[0][1].split(" ")[0]
    assert order("?order=name") == sorted(node["label"].split(" ")[0] for node in network["nodes"])
    assert order("?order=buffer")[0] == "N0"
    refused = client.get(f"{address}?order=colour")
    assert refused.status_code == 404
    assert "known: name, load, latency, buffer" in words_of(refused)


def test_the_drawing_adds_up(tour):
    [network] = air_of_venue(tour.venue)["networks"]
    picture = time_picture(network)
    parts = next(node["parts"] for node in network["nodes"] if node["label"] == picture.node)
    assert [row.name.split(",")[0] for row in picture.rows] == [part["name"] for part in parts]
    assert [row.hops.count("M") for row in picture.rows if ", 2 hops" in row.name] == [1, 1]
    ends = [float(row.mean[0]) + float(row.mean[2]) for row in picture.rows]
    starts = [float(row.mean[0]) for row in picture.rows]
    assert starts[1:] == pytest.approx(ends[:-1], abs=0.2)  # one after the other
    scale = (ends[-1] - starts[0]) / sum(part["mean_ms"] for part in parts)
    widths = [float(row.longest[2]) for row in picture.rows]
    assert widths == pytest.approx([part["longest_ms"] * scale for part in parts], abs=0.5)


def test_ways_of_sending_come_on_demand(address, tour, viewer):
    client = signed_in(viewer)
    found = strategies_of_venue(tour.venue, "Show")
    best, *_ = found["strategies"]
    whole = words_of(client.get(f"{address}strategies/"))
    fragment = client.get(f"{address}strategies/?network=Show", headers={"HX-Request": "true"})
    assert b"<html" not in fragment.content
    for words in (whole, words_of(fragment)):
        assert f"★ best {best['in_words']}" in words
        assert best["reason"] in words
        assert f"{in_digits(best['energy_j_per_show_hour'], 3)} J" in words
        assert all(one["in_words"] in words for one in found["strategies"])
        assert "(as it is sent now)" in words
        assert found["energy_basis"] in words
        assert "✓ reached: 1 network, each with a gateway and a feed of its own, of 16 radio channels" in words
        assert "N2, N3, N4, N5, N6, N7, Walker <1>" in words
    assert "Worked out on" in whole
    refused = client.get(f"{address}strategies/?network=Shaw")
    assert (refused.status_code, "known: Show" in words_of(refused)) == (404, True)


def test_a_simulation_is_asked_for_watched_and_cancelled(address, editor):
    client = signed_in(editor)
    assert "Nothing was simulated for this venue yet" in words_of(client.get(address))
    response = _ask(client, address, seconds="10", replications="4", seed="7", fading=None, burst_ms="2.5")
    job = Job.objects.get()
    assert (response.status_code, response.url) == (302, f"{address}?job={job.pk}")
    asked = {
        name: job.parameters[name] for name in ("network", "seconds", "replications", "seed", "fading", "burst_ms")
    }
    assert list(asked.values()) == ["Show", 10.0, 4, 7, False, 2.5]
    page = client.get(response.url)
    assert "No worker is running" in words_of(page)
    fields = forms_of(page)[_form(page, "start")]["fields"]
    assert (fields[f"{STEM}-seconds"], fields[f"{STEM}-seed"]) == ("10", "7")  # the next question begins with this one
    run = queue.claim_next(Worker.objects.create(name="here 1", heartbeat=Now()), KINDS)
    queue.note(run, 0.42, "1 of 4 replications done", {})
    fragment = client.get(response.url, headers={"HX-Request": "true"})
    assert fragment.content.lstrip().startswith(b'<div id="simulation-progress"')
    assert "42 %, 1 of 4 replications done" in words_of(fragment)
    assert fill_in(client, response.url, nth=_form(page, "cancel")).status_code == 302
    assert "being cancelled" in words_of(client.get(response.url))


def test_faults_stand_beside_their_fields(address, editor):
    client = signed_in(editor)
    response = _ask(client, address, seconds="none", replications="1000")
    assert response.status_code == 409
    assert forms_of(response)[_form(response, "start")]["fields"][f"{STEM}-replications"] == "1000"
    response = _ask(client, address, replications="1000")
    assert "Must be less than or equal to 100, not 1000" in words_of(response)
    assert not Job.objects.exists()
    assert forged(client, address).status_code == 409
    assert Job.objects.count() == 0


def test_the_result_stands_beside_the_closed_form(address, tour, editor):
    result = simulated_result(tour.venue)
    job = simulated_job(tour.venue, editor, result)
    client = signed_in(editor)
    words = words_of(client.get(address))
    fragment = client.get(f"{address}?job={job.pk}", headers={"HX-Request": "true"})
    assert b'<div id="simulation-result" hx-swap-oob="true">' in fragment.content
    walker = next(node for node in result["nodes"] if node["node"] == "Walker <1>")
    closed = walker["closed_form"]
    times = closed["latency_ms"]["95"] / walker["latency_ms"]["95"]["value"]
    for text in (words, words_of(fragment)):
        assert f"closed form {closed['latency_ms']['95']:.1f} ms, ▲ above, {times:.1f} times as much" in text
        assert f"{percent(walker['delivery']['value'])} " in text
        assert "4 replications of 10 s of show, seed 1" in text
        assert "the first copy counts, whichever way it came" in text
        assert "not valid" not in text
    assert fragment.content.decode().count('class="distribution"') == len(result["nodes"])
    Node.objects.filter(label="N2").update(is_worn=True)
    assert "simulation and closed form are both those of the earlier state" in words_of(client.get(address))


def test_what_may_not_be_compared_is_said(address, tour, editor):
    result = simulated_result(tour.venue)
    result["closed_form"] |= {"is_valid": False, "utilisation": 0.62, "in_words": "In use 62%: it is not valid."}
    for node in result["nodes"]:
        node["delivery"] |= {"low": None, "high": None}
        node["closed_form"] |= {"delivery_is": "no interval"}
    simulated_job(tour.venue, editor, result, seed=5)
    words = words_of(signed_in(editor).get(address))
    assert "▲ In use 62%: it is not valid." in words
    assert "one replication has no interval" in words
    assert "The closed form's delivery has no interval to be held against" in words


def test_only_editors_start_one(address, viewer, outsider):
    assert forged(signed_in(viewer), address).status_code == 403
    for path in (address, f"{address}strategies/"):
        assert signed_in(outsider).get(path).status_code == 404
