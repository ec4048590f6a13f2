"""The venue's page: plan, findings, nodes, assumptions, cautions, Scene."""

import json

import pytest

from showplan.planner.scene_file import fingerprint, read
from showplan.services.planning import plan_venue
from tests.frontend.pages import signed_in, words_of
from tests.tours import a_venue

pytestmark = pytest.mark.django_db


@pytest.fixture
def get(tour, owner):
    """GET of the venue's page with a query."""
    client = signed_in(owner)
    return lambda **query: client.get(f"/venues/{tour.venue.pk}/", query)


def test_the_head_names_place_dates_and_answers(get):
    words = words_of(get())
    assert "Corn hall United States" in words
    assert "Sat 3 Oct 2026 load-in by the yard door" in words
    assert "Sun 4 Oct 2026 show" in words


def test_findings_stand_by_question_with_numbers_remedy_and_formulas(get, tour):
    response = get()
    words, plan = words_of(response), plan_venue(tour.venue).plan
    assert {"spectrum-shared", "node-not-placed", "within-limit"} <= {finding.code for finding in plan.findings}
    for finding in plan.findings:
        assert finding.sentence in words
        assert f"{finding.severity} {finding.subject.kind} {finding.subject.name}" in words
    assert 'href="/formulas/eirp_dbm/"' in response.content.decode()
    assert "Not answered yet: Does everybody have the same plan?" in words


def test_the_gravest_finding_of_a_question_stands_first(get):
    quiet = words_of(get()).partition("Does every node hear the show?")[2]
    assert quiet.index("spectrum-shared") < quiet.index("within-limit")


def test_every_node_is_listed_with_its_way_and_margin(get, tour):
    words, planned = words_of(get()), plan_venue(tour.venue)
    route = planned.plan.route_to("N7")
    assert route is not None
    margin = f"{route.margin_db:.1f} dB".replace("-", "−")
    assert f"N7 receiver Hall, x 26.5 m, y 18 m Show Costume {' – '.join(route.nodes)} {margin}" in words
    assert "N0 gateway Hall, x 2 m, y 18 m Show Costume fed by the control computer" in words
    assert "Walker <1> worn receiver Hall, anywhere in Stage" in words
    assert "Spare receiver not placed here" in words
    assert "9 nodes placed here, 1 not." in words


def test_the_drawing_has_every_wall_zone_site_node_and_link(get):
    html = get().content.decode()
    drawing = html[html.index('id="plan-drawing"') : html.index("</svg>", html.index('id="plan-drawing"'))]
    assert drawing.count('class="wall wall-') == 2
    assert drawing.count('class="zone"') == 1
    assert drawing.count('class="site site-mains"') == 1
    assert drawing.count('class="node gateway"') == 1
    assert drawing.count('class="node relay"') == 1
    assert drawing.count('class="node receiver') == 7
    assert drawing.count('class="node receiver moving"') == 1
    assert drawing.count('class="link ') == 8  # one hop into each node but the gateway
    assert "coverage.png?level=Hall&amp;network=Show" in drawing


def test_the_script_gets_the_same_facts_in_metres(get):
    html = get().content.decode()
    start = html.index(">", html.index('id="plan-data"')) + 1
    data = json.loads(html[start : html.index("</script>", start)])
    assert data["bounds"] == [[0.0, 0.0], [40.0, 20.0]]
    assert len(data["walls"]) == 2
    assert len(data["nodes"]) == 9
    assert len(data["links"]) == 8
    assert "Walker <1>" in {node["label"] for node in data["nodes"]}


def test_another_level_shows_only_what_is_there(get):
    response = get(level="Gallery")
    words = words_of(response)
    assert "Plan: Gallery, network Show, all senders" in words
    assert "Rail & stairs" in words
    assert response.content.decode().count('class="node receiver') == 2  # the two of the legend


def test_one_sender_shows_every_link_of_it(get):
    response = get(sender="N1")
    assert "Plan: Hall, network Show, sender N1" in words_of(response)
    assert "every link from N1" in words_of(response)
    html = response.content.decode()
    assert html[: html.index('class="legend"')].count('class="link ') == 8
    assert "sender=N1" in html


@pytest.mark.parametrize("query", [{"level": "Cellar"}, {"network": "Other"}, {"sender": "N5"}])
def test_a_choice_that_is_not_there_is_404_and_says_what_is(get, query):
    response = get(**query)
    assert response.status_code == 404
    [(name, value)] = query.items()
    assert f"There is no {name} '{value}' here; there is:" in words_of(response)


def test_a_network_without_nodes_here_is_not_offered(get):
    assert "network=Reserve" not in get().content.decode()


def test_the_legend_says_every_class_in_words_and_numbers(get):
    words = words_of(get())
    for text in ("not served under 0 dB", "thin 0 to 3 dB", "sound 3 to 10 dB", "strong 10 to 20 dB"):
        assert text in words
    assert "very strong 20 dB and more" in words
    assert "Margin above the fade margin of 10 dB" in words
    assert "brick 200 mm" in words


def test_assumptions_cautions_and_fingerprint_are_on_the_page(get, tour):
    words, plan = words_of(get()), plan_venue(tour.venue).plan
    for assumption in plan.assumptions:
        assert assumption in words
    assert f"Planner version {plan.planner_version}, Scene fingerprint {plan.fingerprint}" in words
    for caution in ("local codes", "regulator decides", "pyrotechnics", "fuse near the pack", "cooler to the touch"):
        assert caution.lower() in words.lower()


def test_the_scene_file_gives_the_same_fingerprint(tour, owner):
    response = signed_in(owner).get(f"/venues/{tour.venue.pk}/scene.json")
    found = plan_venue(tour.venue).plan.fingerprint
    assert response["Content-Type"] == "application/json"
    assert f'filename="corn-hall-scene-{found[:12]}.json"' in response["Content-Disposition"]
    assert fingerprint(read(response.content)) == found


def test_a_venue_without_nodes_or_levels_still_has_a_page(tour, owner):
    client = signed_in(owner)
    bare = a_venue(tour.project, owner, "Bare")
    words = words_of(client.get(f"/venues/{bare.pk}/"))
    assert "Nothing transmits here, so there is no coverage." in words
    assert client.get(f"/venues/{bare.pk}/coverage.png").status_code == 404
    bare.levels.all().delete()
    words = words_of(client.get(f"/venues/{bare.pk}/"))
    assert "This venue has no level yet" in words
    assert client.get(f"/venues/{bare.pk}/coverage.png").status_code == 404
