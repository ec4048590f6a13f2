"""Whole links as the planner computes them, against published loss figures."""

import dataclasses

import pytest

from showplan.planner.links import network_links
from showplan.planner.scene import Level, Network, Placement, Wall
from tests.published.tolerances import HUNDREDTH_DB
from tests.scenes import HALL, hall, node, with_venue

# Free-space loss at 2440 MHz: ITU-R P.525; the figures agree with three independent programs (see test_free_space).
FREE_SPACE_2440_DB = {10.0: 60.196, 50.0: 74.175, 100.0: 80.196, 300.0: 89.738}
FREE_SPACE_30_M_DB = 69.738  # the same source, whole link budget at 2440 MHz over 30 m


def two_nodes(distance_m: float, **changes):
    """A gateway and a receiver that far apart in the open, on radio channel 18 (2440 MHz)."""
    scene = hall(
        levels=(dataclasses.replace(hall().levels[0], width_m=400.0),),
        networks=(Network(name="Show", phy="oqpsk-2450", radio_channel=18, pan_id=1),),
        nodes=(node("G1", "gateway", 0, 1.0, 10.0), node("A1", "receiver", 1, 1.0 + distance_m, 10.0)),
        **({"walls": (), "zones": (), "loads": (), "readings": ()} | changes),
    )
    return with_venue(scene, path_loss_model="free-space")


@pytest.mark.parametrize(("distance_m", "loss_db"), FREE_SPACE_2440_DB.items())
def test_open_air_link_is_free_space(distance_m: float, loss_db: float) -> None:
    scene = two_nodes(distance_m)
    links = network_links(scene, scene.networks[0])
    assert links is not None
    link = links.link("G1", "A1")
    assert links.frequency_mhz == 2440
    assert link.path_loss_db == pytest.approx(loss_db, abs=HUNDREDTH_DB)
    # transmit power 3 dBm, antennas 0 dBi, sensitivity -97 dBm, fade margin 10 dB
    assert link.received_dbm == pytest.approx(3 - loss_db, abs=HUNDREDTH_DB)
    assert link.margin_db == pytest.approx(3 - loss_db + 97 - 10, abs=HUNDREDTH_DB)


def test_walls_add_their_slab_loss() -> None:
    """Two walls of 102 mm brick, 3.476 dB each at 2440 MHz (ITU-R P.2040 slab, normal incidence)."""
    walls = tuple(
        Wall(label=f"W{x}", level=HALL, start_m=(x, 0.0), end_m=(x, 20.0), height_m=6.0, material="brick-102")
        for x in (8.0, 12.0)
    )
    scene = two_nodes(30.0, walls=walls)
    links = network_links(scene, scene.networks[0])
    assert links is not None
    expected_db = FREE_SPACE_30_M_DB + 2 * 3.476
    assert links.link("G1", "A1").path_loss_db == pytest.approx(expected_db, abs=HUNDREDTH_DB)


def test_two_floors_follow_the_multi_wall_floor_term() -> None:
    """Two like floors cost 2^(4/3 - 0.46) = 1.832 times one (COST 231 multi-wall model, b = 0.46).

    The floors are 200 mm concrete: 14.760 dB at 2440 MHz (ITU-R P.2040 slab, normal incidence).
    """
    ground = hall().levels[0]
    levels = tuple(
        Level(
            name=name,
            elevation_m=elevation_m,
            clear_height_m=3.0,
            origin_m=ground.origin_m,
            width_m=ground.width_m,
            depth_m=ground.depth_m,
            floor_material="concrete-200",
        )
        for name, elevation_m in ((HALL, 0.0), ("First", 4.0), ("Second", 8.0))
    )
    scene = two_nodes(10.0)
    upstairs = dataclasses.replace(
        scene.nodes[1], placement=Placement(level="Second", position_m=(1.0, 10.0), height_m=1.5)
    )
    scene = dataclasses.replace(scene, levels=levels, nodes=(scene.nodes[0], upstairs))
    links = network_links(scene, scene.networks[0])
    assert links is not None
    free_space_8_m_db = 60.196 - 1.938  # 20 log10(10 / 8)
    expected_db = free_space_8_m_db + 1.8318 * 14.760
    assert links.link("G1", "A1").path_loss_db == pytest.approx(expected_db, abs=HUNDREDTH_DB)
