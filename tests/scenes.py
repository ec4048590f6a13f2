"""Scenes for the tests: one plain hall, and random ones for the property tests."""

import dataclasses
from typing import Any

from hypothesis import strategies as st

from showplan.planner.scene import (
    CandidateSite,
    Level,
    Network,
    Node,
    NodeType,
    OccupiedSpectrum,
    Placement,
    Reading,
    Scene,
    VenueFacts,
    Wall,
    Zone,
)
from showplan.planner.scene_power import Load, Supply

HALL = "Hall"
WIDTH_M, DEPTH_M = 40.0, 20.0


def node(label: str, role: str, address: int, x_m: float, y_m: float, **changes: Any) -> Node:
    """A node of network 'Show' at a point of the hall, 1.5 m above the floor."""
    values: dict[str, Any] = {
        "label": label,
        "role": role,
        "node_type": "Pocket",
        "network": "Show",
        "short_address": address,
        "placement": Placement(level=HALL, position_m=(x_m, y_m), height_m=1.5),
    }
    return Node(**(values | changes))


def hall(**changes: Any) -> Scene:
    """A 40 x 20 m hall: a gateway, a relay, three receivers (one in a zone), a brick wall with a gap, a load."""
    values: dict[str, Any] = {
        "venue": VenueFacts(
            name="Corn hall",
            project="Lantern walk",
            region="us",
            environment="theatre-hall",
            path_loss_exponent=2.2,
            fade_margin_db=10.0,
        ),
        "levels": (
            Level(
                name=HALL,
                elevation_m=0.0,
                clear_height_m=6.0,
                origin_m=(0.0, 0.0),
                width_m=WIDTH_M,
                depth_m=DEPTH_M,
                floor_material="concrete-200",
            ),
        ),
        "walls": (
            Wall(
                label="W1",
                level=HALL,
                start_m=(20.0, 0.0),
                end_m=(20.0, 15.0),
                height_m=4.0,
                material="brick-200",
            ),
        ),
        "zones": (Zone(name="Stage", level=HALL, corners_m=((2.0, 2.0), (10.0, 2.0), (10.0, 8.0), (2.0, 8.0))),),
        "candidate_sites": (
            CandidateSite(label="S1", level=HALL, position_m=(30.0, 18.0), height_m=3.0, has_mains=True),
        ),
        "occupied_spectrum": (OccupiedSpectrum(label="House network", centre_mhz=2437.0, bandwidth_mhz=20.0),),
        "node_types": (
            NodeType(
                name="Pocket",
                phy="oqpsk-2450",
                transmit_power_dbm=3.0,
                antenna_gain_dbi=0.0,
                cable_loss_db=0.0,
                sensitivity_dbm=-97.0,
                outputs=4,
            ),
        ),
        "networks": (Network(name="Show", phy="oqpsk-2450", radio_channel=25, pan_id=0x1A2B),),
        "supplies": (Supply(label="B1", kind="battery", nominal_v=12.8, capacity_ah=2.0),),
        "nodes": (
            node("G1", "gateway", 0, 5.0, 18.0),
            node("R1", "relay", 1, 20.0, 18.0),
            node("A1", "receiver", 2, 8.0, 10.0, supply="B1"),
            node("A2", "receiver", 3, 35.0, 5.0),
            node(
                "A3",
                "receiver",
                4,
                0.0,
                0.0,
                is_worn=True,
                placement=Placement(level=HALL, zone="Stage", height_m=1.2),
            ),
        ),
        "loads": (
            Load(
                label="L1",
                kind="tape",
                node="A1",
                output=1,
                slot=1,
                rated_v=12.0,
                rated_w=7.2,
                length_m=0.5,
                cable_length_m=1.0,
                cable_area_mm2=0.5,
            ),
        ),
        "readings": (
            Reading(
                level=HALL,
                position_m=(12.0, 12.0),
                height_m=1.2,
                transmitter="G1",
                receiver_type="Pocket",
                received_dbm=-58.0,
                taken_at="2026-03-01T10:00:00+00:00",
            ),
        ),
    }
    return Scene(**(values | changes))


def with_venue(scene: Scene, **changes: Any) -> Scene:
    """The Scene with other venue facts."""
    return dataclasses.replace(scene, venue=dataclasses.replace(scene.venue, **changes))


def with_all_node_types(scene: Scene, **changes: Any) -> Scene:
    """The Scene with every node type changed alike."""
    return dataclasses.replace(
        scene, node_types=tuple(dataclasses.replace(sort, **changes) for sort in scene.node_types)
    )


_inside = st.tuples(
    st.floats(0, WIDTH_M, allow_subnormal=False).map(lambda v: round(v, 2)),
    st.floats(0, DEPTH_M, allow_subnormal=False).map(lambda v: round(v, 2)),
)


@st.composite
def walls(draw: st.DrawFn, label: str = "X1") -> Wall:
    """A wall anywhere in the hall."""
    start, end = draw(st.lists(_inside, min_size=2, max_size=2, unique=True))
    return Wall(
        label=label,
        level=HALL,
        start_m=start,
        end_m=end,
        base_m=draw(st.sampled_from([0.0, 1.0])),
        height_m=draw(st.sampled_from([1.0, 2.5, 6.0])),
        material=draw(st.sampled_from(["brick-102", "plasterboard-26", "concrete-200", "metal", "stage-drape"])),
    )


@st.composite
def scenes(draw: st.DrawFn) -> Scene:
    """The hall with random walls and one to eight nodes at random places; the first node is the gateway."""
    places = draw(st.lists(_inside, min_size=1, max_size=8, unique=True))
    roles = [
        "gateway",
        *draw(st.lists(st.sampled_from(["relay", "receiver", "gateway"]), min_size=7, max_size=7)),
    ]
    nodes = tuple(node(f"N{i}", role, i, x, y) for i, ((x, y), role) in enumerate(zip(places, roles, strict=False)))
    number_of_walls = draw(st.integers(0, 6))
    some_walls = tuple(draw(walls(f"W{i}")) for i in range(number_of_walls))
    base = hall(nodes=nodes, walls=some_walls, zones=(), loads=(), supplies=(), readings=())
    sensitivity_dbm = draw(st.sampled_from([-60.0, -70.0, -80.0, -97.0]))
    return with_all_node_types(base, sensitivity_dbm=sensitivity_dbm)
