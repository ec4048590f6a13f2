"""The power page: supplies in words, each node drawn with volts and amperes, its pack through the day."""

import re
from html import unescape

import pytest

from frontend.present.day_chart import HEIGHT, TOP, day_chart
from frontend.present.line_diagram import line_diagram
from showplan.records.models import Load, ShowPart
from showplan.services.editing import edit
from showplan.services.planning import plan_venue
from tests.frontend.pages import signed_in, words_of
from tests.tours import a_project, a_venue, by

pytestmark = pytest.mark.django_db


@pytest.fixture
def address(tour, owner):
    """The power page of a tour with a day of three parts."""
    project = tour.project
    with edit(project, by(owner)) as change:
        change.create(
            [
                ShowPart(project=project, name="Rehearsal", position=1, kind="rehearsal", minutes=60.0, level=0.3),
                ShowPart(project=project, name="Supper", position=2, kind="gap", minutes=90.0),
                ShowPart(project=project, name="Act <1>", position=3, kind="act", minutes=60.0, level=0.6),
            ]
        )
    return f"/venues/{tour.venue.pk}/power/"


@pytest.fixture
def power(address, tour):
    """What the page shows."""
    return plan_venue(tour.venue).plan.analysis.power


def test_the_page_says_what_the_planner_says(address, owner, power):
    words = words_of(signed_in(owner).get(address))
    assert "Does the power last, safely?" in words
    for node in power.nodes:
        assert f"{node.bus_v.nominal:.2f} V" in words
        for output in node.outputs:
            assert f"{output.current.nominal:.2f} A" in words
            assert f"drop {output.drop_v:.2f} V, {output.drop_percent:.1f} %".removeprefix("drop ") in words
    for supply in power.supplies:
        assert supply.supply in words
    assert "Before you switch on" in words


def test_one_node_alone(address, owner, power):
    first, second = power.nodes[0].node, power.nodes[1].node
    client = signed_in(owner)
    words = words_of(client.get(address, {"node": first}))
    assert f"Node {first} alone." in words
    assert second not in re.findall(r"Line diagram of (\S+)", words)
    missing = client.get(address, {"node": "Nobody"})
    assert missing.status_code == 404


def test_the_diagram_has_a_fuse_where_one_was_entered_and_feeds_where_the_tape_is_fed(tour, owner, power):
    output = next(one for node in power.nodes for one in node.outputs)
    node = power.node(output.node)
    loads = {load.label: load for load in plan_venue(tour.venue).scene.loads}
    bare = line_diagram(node, power.supply_of(node), loads)
    with edit(tour.project, by(owner)) as change:
        change.update(Load.objects.get(label=output.load), {"fuse_a": 3.0, "feeding": "both-ends"})
    planned = plan_venue(tour.venue)
    power = planned.plan.analysis.power
    node = power.node(output.node)
    loads = {load.label: load for load in planned.scene.loads}
    fused = line_diagram(node, power.supply_of(node), loads)
    assert [label.words for label in fused.labels].count("3 A") == [one.words for one in bare.labels].count("3 A") + 1
    assert len(fused.strokes) == len(bare.strokes) + 2  # the fuse, and the second cable
    assert any(label.words.startswith("middle ") for label in fused.labels)


def test_the_chart_starts_full_and_ends_where_the_planner_says(power):
    supply = next(one for one in power.supplies if one.day is not None)
    chart = day_chart(supply)
    assert chart is not None
    places = [tuple(map(float, pair.split())) for pair in re.findall(r"[ML]([\d.]+ [\d.]+)", chart.line)]
    assert places[0][1] == TOP
    assert places[-1][1] == pytest.approx(TOP + (1 - max(supply.parts[-1].left, 0)) * HEIGHT, abs=0.06)
    assert [mark.words for mark in chart.names] == ["Rehearsal", "Supper", "Act <1>"]


def test_names_are_words_and_nothing_else(address, owner):
    html = signed_in(owner).get(address).content.decode()
    assert "Act <1>" not in html
    assert "Act <1>" in unescape(html)


def test_a_project_without_kit_has_nothing_to_work_out(owner):
    venue = a_venue(a_project(owner, "Bare"), owner)
    words = words_of(signed_in(owner).get(f"/venues/{venue.pk}/power/"))
    assert "No node has a load or a supply yet, so there is nothing to work out." in words
