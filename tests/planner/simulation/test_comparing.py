"""The closed form in the simulation's terms: packets for frames, the radio's part of the latency, where figures lie."""

from dataclasses import replace

import pytest

from showplan.planner.analysis import Analysis
from showplan.planner.simulation.comparing import BEFORE_THE_RADIO, against, closed_form, of_network, radio_parts
from tests.scenes import hall

SCENE = hall(loads=())


@pytest.fixture(scope="module")
def air():
    """The air of the hall's network."""
    return Analysis(SCENE).air["Show"]


def test_the_feed_is_left_out_of_the_latency(air):
    parts = air.where_the_time_goes
    named = {part.name for part in parts}
    assert set(BEFORE_THE_RADIO) - {"held back by the bridge"} <= named  # the names are those of the plan
    rest = radio_parts(parts)
    assert {part.name for part in rest} == named - set(BEFORE_THE_RADIO)
    found = closed_form(SCENE, "Show")
    assert found == of_network(air)
    for node in air.served:
        median = sum(part.mean_ms for part in radio_parts(node.parts))
        assert found.nodes[node.label].latency_ms[0] == pytest.approx(median)
        assert found.nodes[node.label].delivery == node.delivery


def test_a_frame_of_several_packets_counts_by_packets(air):
    many = replace(air, packet_levels=1, nodes=tuple(replace(one, slots=2, delivery=0.81) for one in air.served))
    # Two packets that each arrive with 0.9 arrive both with 0.81.
    assert of_network(many).nodes["A1"].delivery == pytest.approx(0.9)


def test_above_45_percent_it_says_that_it_is_not_valid(air):
    for utilisation, is_valid in ((0.45, True), (0.46, False)):
        found = of_network(replace(air, contention=replace(air.contention, utilisation=utilisation)))
        assert found.is_valid is is_valid
        assert ("not valid" in found.in_words) is not is_valid


@pytest.mark.parametrize(
    ("value", "low", "high", "place"),
    [
        (0.5, 0.4, 0.6, "inside"),
        (0.4, 0.4, 0.6, "inside"),
        (0.3, 0.4, 0.6, "below"),
        (0.7, 0.4, 0.6, "above"),
        (0.5, None, None, "no interval"),
        (None, 0.4, 0.6, "no figure"),
    ],
)
def test_where_a_figure_lies(value, low, high, place):
    assert against(value, low, high) == place
