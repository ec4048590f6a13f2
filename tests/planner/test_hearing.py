"""Does every node hear the show? The findings and the answer they add up to."""

import dataclasses

from showplan.planner.findings import QUESTIONS
from showplan.planner.readiness import plan
from showplan.planner.scene import Scene
from tests.scenes import hall, node, with_all_node_types


def codes(scene: Scene) -> set[tuple[str, str]]:
    return {(f.code, f.subject.name) for f in plan(scene).findings if f.question == "heard"}


def state(scene: Scene, question: str) -> str:
    return next(answer.state for answer in plan(scene).answers() if answer.question.key == question)


def test_a_hall_that_hears_everything_is_ready() -> None:
    scene = hall()
    assert codes(scene) == {("single-gateway", "G1")}
    assert state(scene, "heard") == "ready"


def test_questions_without_a_check_are_open() -> None:
    answers = plan(hall()).answers()
    assert [answer.question for answer in answers] == list(QUESTIONS)
    unanswered = {"same-plan", "prediction-right", "fits-the-truck"}
    assert {answer.question.key for answer in answers if answer.state == "open"} == unanswered


def test_a_deaf_network_stops_the_show() -> None:
    scene = with_all_node_types(hall(), sensitivity_dbm=-40.0)
    assert {("node-not-heard", label) for label in ("A1", "A2", "A3", "R1")} <= codes(scene)
    assert state(scene, "heard") == "stop"


def test_without_a_gateway_nobody_is_blamed_but_the_network() -> None:
    scene = hall()
    nodes = tuple(n for n in scene.nodes if n.role != "gateway")
    assert codes(dataclasses.replace(scene, nodes=nodes, readings=())) == {("no-gateway", "Show")}


def test_a_node_without_network_or_place_is_told() -> None:
    scene = hall()
    lost = node("A9", "receiver", 9, 1.0, 1.0, network=None, short_address=None)
    spare = dataclasses.replace(node("A8", "receiver", 8, 1.0, 1.0), placement=None)
    found = codes(dataclasses.replace(scene, nodes=(*scene.nodes, lost, spare)))
    assert {("node-without-network", "A9"), ("node-not-placed", "A8")} <= found


def test_a_thin_margin_names_the_route() -> None:
    scene = hall(nodes=(node("G1", "gateway", 0, 5.0, 18.0), node("A2", "receiver", 3, 35.0, 18.0)), loads=())
    best = plan(scene).route_to("A2")
    assert best is not None
    thinner = with_all_node_types(scene, sensitivity_dbm=-97.0 + best.margin_db - 1.0)
    thin = next(f for f in plan(thinner).findings if f.code == "thin-margin")
    assert thin.severity == "warn"
    assert "only 1.0 dB above the fade margin" in thin.sentence


def test_a_moving_node_is_judged_where_it_is_worst_served() -> None:
    scene = hall()
    links = plan(scene).analysis.links["Show"]
    link = links.link("G1", "A3")
    # The zone reaches from 10.0 m (5, 8) to 16.8 m (10, 2) from the gateway at (5, 18); 5 % lie beyond about 15.9 m.
    assert 15.5 < link.distance_m < 16.5
    assert link.worst_delivery < link.delivery
