"""From a venue and a crew's wishes to the relay planner's arrays."""

import dataclasses

import numpy as np
import pytest

from showplan.planner.links import network_links
from showplan.planner.relays.from_scene import relay_task
from showplan.planner.relays.problem import AirLimit, RelayProblemError
from showplan.planner.relays.wishes import AirWish, Demand, RelayWishes, SiteEdges, SiteGrid, SiteLine
from showplan.planner.scene import CandidateSite, CrowdArea, Scene
from tests.scenes import HALL, hall

WISHES = RelayWishes(network="Show", relay_type="Pocket")


def site(label: str, x_m: float, y_m: float, **changes) -> CandidateSite:
    values = {"label": label, "level": HALL, "position_m": (x_m, y_m), "height_m": 3.0, "has_mains": True}
    return CandidateSite(**(values | changes))


def wish(**changes) -> RelayWishes:
    return WISHES.model_copy(update=changes)


def faults_of(scene: Scene, wishes: RelayWishes) -> dict[str, str]:
    with pytest.raises(RelayProblemError) as refused:
        relay_task(scene, wishes)
    return {fault.pointer: fault.message for fault in refused.value.faults}


def test_indices_stand_for_sites_nodes_and_gateways() -> None:
    task = relay_task(hall(), WISHES)
    problem = task.problem
    assert problem.site_names == ("S1", "where R1 stands")
    assert (problem.gateway_names, problem.node_names) == (("G1",), ("A1", "A2", "A3"))
    assert problem.site_to_site.shape == (2, 2)
    assert problem.routes == (1, 1, 1)


def test_a_relay_that_stands_has_its_own_links() -> None:
    """The column of a present relay holds what the planner says of its links as placed."""
    scene = hall()
    problem = relay_task(scene, wish(least_delivery=0.5)).problem
    links = network_links(scene, scene.networks[0])
    for column, label in enumerate(problem.node_names):
        link = links.link("R1", label)
        expected = link.delivery if link.is_usable and link.delivery >= 0.5 else 0.0
        assert problem.site_to_node[1, column] == pytest.approx(expected)


def test_a_hop_needs_delivery_and_margin() -> None:
    def usable(**changes):
        return int((relay_task(hall(), wish(**changes)).problem.site_to_node > 0).sum())

    assert usable() >= usable(least_delivery=0.999999)
    assert usable(extra_margin_db=40.0) == 0


def test_the_worse_state_of_the_house_counts() -> None:
    crowd = CrowdArea(
        label="Stalls",
        level=HALL,
        corners_m=((0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0)),
        height_m=5.0,
        loss_db_per_m=3.0,
        most_db=60.0,
    )
    empty = relay_task(hall(), wish(least_delivery=0.01)).problem
    full = relay_task(hall(crowd_areas=(crowd,)), wish(least_delivery=0.01)).problem
    assert (full.gateway_to_node <= empty.gateway_to_node).all()
    assert (full.gateway_to_node < empty.gateway_to_node).any()


def test_two_routes_for_a_zone_or_a_node() -> None:
    assert relay_task(hall(), wish(two_routes_for=("Stage",))).problem.routes == (1, 1, 2)
    assert relay_task(hall(), wish(two_routes_for=("A2",))).problem.routes == (1, 2, 1)
    assert relay_task(hall(), wish(routes=2)).problem.routes == (2, 2, 2)


def test_a_node_or_zone_may_demand_more_of_every_hop() -> None:
    general = relay_task(hall(), wish(least_delivery=0.01)).problem
    for name, column in (("A2", 1), ("Stage", 2)):
        demand = Demand(name=name, least_delivery=0.9999999, extra_margin_db=40.0)
        strict = relay_task(hall(), wish(least_delivery=0.01, demands=(demand,))).problem
        others = [i for i in range(3) if i != column]
        np.testing.assert_array_equal(strict.site_to_node[:, others], general.site_to_node[:, others])
        np.testing.assert_array_equal(strict.site_to_site, general.site_to_site)
        assert general.site_to_node[:, column].any()
        assert not strict.site_to_node[:, column].any()
        own = next(own for own in strict.own_links if own.nodes == (column,))
        assert not own.site_to_site.any()
        assert not own.gateway_to_site.any()
        rest = next(own for own in strict.own_links if own.nodes == tuple(others))
        np.testing.assert_array_equal(rest.site_to_site, general.site_to_site > 0)
    same = Demand(name="A2", least_delivery=0.01)
    assert relay_task(hall(), wish(least_delivery=0.01, demands=(same,))).problem.own_links == ()


def test_demands_that_nobody_could_mean_are_refused() -> None:
    def refused(*names: str) -> dict[str, str]:
        return faults_of(hall(), wish(demands=tuple(Demand(name=name, least_delivery=0.5) for name in names)))

    assert refused("Nobody") == {"/demands/0/name": "there is no node or zone 'Nobody' here"}
    twice = "'A2' has a demand already, number 1: give each node or zone one"
    assert refused("A2", "Stage", "A2") == {"/demands/2/name": twice}
    nobody_there = "network 'Show' has no receiver here that is called 'G1' or moves in such a zone"
    assert refused("A2", "G1") == {"/demands/1/name": nobody_there}
    zones = (*hall().zones, dataclasses.replace(hall().zones[0], name="Pit"))
    idle = faults_of(hall(zones=zones), wish(two_routes_for=("Stage", "Pit")))
    assert list(idle) == ["/two_routes_for/1"]


def test_rules_of_sites_and_of_wishes() -> None:
    scene = hall(
        candidate_sites=(
            site("plain", 10, 10),
            site("wanted", 12, 10, relay_use="must", cost=2.5),
            site("forbidden", 14, 10, relay_use="never"),
            site("dark", 16, 10, has_mains=False),
        )
    )
    problem = relay_task(scene, wish(present_sites=False)).problem
    assert problem.must.tolist() == [False, True, False, False]
    assert problem.never.tolist() == [False, False, True, False]
    assert problem.cost.tolist() == [1.0, 2.5, 1.0, 1.0]
    problem = relay_task(scene, wish(present_sites=False, needs_mains=True)).problem
    assert problem.never.tolist() == [False, False, True, True]
    # What is asked this time outweighs what the site says.
    problem = relay_task(scene, wish(present_sites=False, must=("forbidden",), never=("wanted",))).problem
    assert (problem.must.tolist(), problem.never.tolist()) == ([False, False, True, False], [False, True, False, False])


def test_a_line_has_sites_at_both_ends_and_between() -> None:
    line = SiteLine(level=HALL, points_m=((4.0, 4.0), (12.0, 4.0)), height_m=5.0, step_m=3.0)
    sites = relay_task(hall(), wish(given_sites=False, present_sites=False, lines=(line,))).sites
    assert [one.position_m[0] for one in sites] == pytest.approx([4.0, 4 + 8 / 3, 4 + 16 / 3, 12.0])
    assert {one.position_m[1] for one in sites} == {4.0}
    assert sites[0].name == "Hall 4.0, 4.0 m"


def test_a_grid_and_edges_stay_on_the_level() -> None:
    grid = SiteGrid(level=HALL, height_m=3.0, step_m=10.0)
    edges = SiteEdges(level=HALL, height_m=3.0, step_m=10.0)
    wishes = wish(given_sites=False, present_sites=False, grids=(grid,), edges=(edges,))
    task = relay_task(hall(), wishes)
    level = hall().levels[0]
    assert all(level.contains(one.position_m) for one in task.sites)
    assert len({one.name for one in task.sites}) == len(task.sites)
    at = {one.position_m for one in task.sites}
    assert {(5.0, 5.0), (0.0, 0.0), (40.0, 20.0)} <= at
    # Beside the wall at x = 20, on both its faces, never in it.
    assert {(19.7, 0.0), (20.3, 0.0)} <= at
    assert (20.0, 10.0) not in at


def test_two_sites_at_one_place_count_once() -> None:
    scene = hall(candidate_sites=(site("first", 20, 18, height_m=1.5), site("second", 20, 18, height_m=1.5)))
    assert [one.name for one in relay_task(scene, WISHES).sites] == ["first"]


def test_choosing_the_gateway_among_sites_with_mains() -> None:
    scene = hall(candidate_sites=(site("left", 2, 2), site("dark", 5, 5, has_mains=False), site("right", 38, 2)))
    task = relay_task(scene, wish(gateways_to_choose=1, present_sites=False))
    assert task.problem.gateway_names == ("left", "right")
    assert [one.name for one in task.gateway_sites] == ["left", "right"]
    # A site cannot feed a relay on itself through the air in any sense that matters: it is as near as can be.
    assert task.problem.gateway_to_site.shape == (2, 3)


def test_air_time_of_a_frame() -> None:
    air = AirWish(kind="repeated", packet_octets=127, packets=3, refresh_hz=25.0, share=0.5)
    assert relay_task(hall(), wish(air=air)).problem.air == AirLimit("repeated", pytest.approx(3 * 4.256e-3), 0.02)
    air = air.model_copy(update={"kind": "routed"})
    assert relay_task(hall(), wish(air=air)).problem.air == AirLimit("routed", pytest.approx(4.256e-3), 0.02)


def test_both_ways_where_frames_are_acknowledged() -> None:
    weak = dataclasses.replace(hall().node_types[0], name="Weak", transmit_power_dbm=-30.0)
    scene = hall(node_types=(*hall().node_types, weak))
    scene = dataclasses.replace(
        scene, nodes=tuple(dataclasses.replace(n, node_type="Weak") if n.label == "A2" else n for n in scene.nodes)
    )
    one, both = (relay_task(scene, wish(acknowledged=wanted)).problem for wanted in (False, True))
    assert (both.site_to_node <= one.site_to_node).all()
    assert both.site_to_node[:, 1].max() < one.site_to_node[:, 1].max()


def test_what_cannot_be_asked_is_said_with_its_place() -> None:
    scene = hall()
    grid = SiteGrid(level="Cellar", height_m=3.0)
    line = SiteLine(level=HALL, points_m=((4.0, 4.0), (99.0, 4.0)), height_m=50.0)
    wishes = wish(network="Show 2", relay_type="Pocet", two_routes_for=("Nobody",), grids=(grid,), lines=(line,))
    found = faults_of(scene, wishes)
    assert set(found) == {
        "/network",
        "/relay_type",
        "/two_routes_for/0",
        "/grids/0/level",
        "/lines/0/points_m/1",
        "/lines/0/height_m",
    }
    assert found["/network"] == "there is no network 'Show 2' here; known: Show"
    assert faults_of(scene, wish(must=("S9",)))["/must/0"] == "there is no site 'S9'"
    assert "also among" in faults_of(scene, wish(must=("S1",), never=("S1",)))["/must"]


def test_no_site_no_receiver_no_gateway() -> None:
    scene = hall()
    bare = dataclasses.replace(scene, candidate_sites=(), nodes=tuple(n for n in scene.nodes if n.role == "relay"))
    found = faults_of(bare, wish(present_sites=False))
    assert set(found) == {"/sites", "/network"}
    no_gateway = dataclasses.replace(scene, nodes=tuple(n for n in scene.nodes if n.role != "gateway"))
    assert "no gateway at a fixed point" in faults_of(no_gateway, WISHES)["/network"]
    assert "/gateways_to_choose" in faults_of(no_gateway, wish(gateways_to_choose=1))


def test_too_many_sites_are_refused_before_any_link_is_worked_out() -> None:
    grid = SiteGrid(level=HALL, height_m=3.0, step_m=0.5)
    lines = tuple(
        SiteLine(level=HALL, points_m=((0.0, y), (40.0, y)), height_m=2.0, step_m=0.5) for y in (1.25, 2.25, 3.25)
    )
    assert len(relay_task(hall(), wish(grids=(SiteGrid(level=HALL, height_m=3.0, step_m=2.0),))).sites) == 202
    found = faults_of(hall(), wish(grids=(grid,), lines=lines))
    assert found["/sites"].startswith("these are 3,4")
    assert "take a wider step" in found["/sites"]


def test_relabelling_changes_names_only() -> None:
    scene = hall()
    other = dataclasses.replace(
        scene, nodes=tuple(dataclasses.replace(n, label=f"x{n.label}") for n in scene.nodes), readings=(), loads=()
    )
    one, two = relay_task(scene, WISHES).problem, relay_task(other, WISHES).problem
    np.testing.assert_array_equal(one.site_to_node, two.site_to_node)
    np.testing.assert_array_equal(one.gateway_to_site, two.gateway_to_site)
