"""How long one plan takes after a node has moved: 100 nodes of 4 loads, 200 walls and 100 readings, by hand.

    python tests/scale/bench_drag.py

Prints a Markdown table: median of several plans, and the share of its parts. The server adds reading the records.
"""

import dataclasses
import itertools
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from showplan.planner.analysis import Analysis
from showplan.planner.power.assumptions import power_assumptions
from showplan.planner.power.findings import power_findings
from showplan.planner.predictions import WalkTest
from showplan.planner.readiness import plan
from showplan.planner.scene import Level, Network, Node, NodeType, Placement, Reading, Scene, VenueFacts, Wall, Zone
from showplan.planner.scene_file import fingerprint
from showplan.planner.scene_power import Load, ShowPart, Supply

steps = itertools.count()
NODES, WALLS, BACKBONE, MOVING, READINGS, ROUNDS = 100, 200, 8, 30, 100, 15


def venue(seed: int = 1) -> Scene:
    """A hall of 80 x 50 m with random walls of 2 to 15 m; the first nodes are gateway and relays, some move."""
    random = np.random.default_rng(seed)
    level = Level(
        name="Hall",
        elevation_m=0.0,
        clear_height_m=8.0,
        origin_m=(0.0, 0.0),
        width_m=80.0,
        depth_m=50.0,
        floor_material="concrete-200",
    )
    walls = []
    for number in range(WALLS):
        start = random.uniform([15, 15], [65, 35])
        length, angle = random.uniform(2, 15), random.choice([0, np.pi / 2])
        end = start + length * np.array([np.cos(angle), np.sin(angle)])
        walls.append(
            Wall(
                label=f"W{number}",
                level="Hall",
                start_m=tuple(map(float, start)),
                end_m=tuple(map(float, end)),
                height_m=3.0,
                material="plasterboard-26",
            )
        )
    zones = tuple(
        Zone(name=f"Z{i}", level="Hall", corners_m=((x, y), (x + 12, y), (x + 12, y + 9), (x, y + 9)))
        for i, (x, y) in enumerate([(5.0, 5.0), (35.0, 20.0), (60.0, 35.0)])
    )
    nodes = []
    for number in range(NODES):
        role = "gateway" if number == 0 else "relay" if number < BACKBONE else "receiver"
        x, y = random.uniform([1, 1], [79, 49])
        place = Placement(level="Hall", position_m=(float(x), float(y)), height_m=2.5)
        if number >= NODES - MOVING:
            place = Placement(level="Hall", zone=f"Z{number % 3}", height_m=1.2)
        nodes.append(
            Node(
                label=f"N{number}",
                role=role,
                node_type="T",
                network="Show",
                short_address=number,
                is_worn=number >= NODES - MOVING,
                supply=f"B{number}",
                trunk_length_m=0.5,
                main_fuse_a=10.0,
                placement=place,
            )
        )
    return Scene(
        venue=VenueFacts(
            name="Bench",
            project="Bench",
            region="us",
            environment="theatre-hall",
            path_loss_exponent=2.4,
            fade_margin_db=8.0,
        ),
        levels=(level,),
        walls=tuple(walls),
        zones=zones,
        node_types=(
            NodeType(
                name="T",
                phy="oqpsk-2450",
                transmit_power_dbm=3.0,
                antenna_gain_dbi=0.0,
                cable_loss_db=0.0,
                sensitivity_dbm=-97.0,
                outputs=4,
            ),
        ),
        networks=(Network(name="Show", phy="oqpsk-2450", radio_channel=20, pan_id=1),),
        nodes=tuple(nodes),
        supplies=tuple(
            Supply(label=f"B{number}", kind="battery", chemistry="lifepo4", nominal_v=12.8, capacity_ah=7.5)
            for number in range(NODES)
        ),
        loads=tuple(
            Load(
                label=f"N{number}.{output}",
                kind="tape",
                node=f"N{number}",
                output=output,
                rated_v=12.0,
                rated_w=4.8 * output,
                length_m=1.0 * output,
                cable_length_m=1.0,
                cable_area_mm2=0.75,
                fuse_a=3.0,
            )
            for number in range(NODES)
            for output in range(1, 5)
        ),
        show_parts=tuple(ShowPart(name=f"act {i}", position=i, kind="act", minutes=60.0, level=0.3) for i in range(2)),
        readings=tuple(
            Reading(
                level="Hall",
                position_m=(float(x), float(y)),
                height_m=1.2,
                transmitter=f"N{number % BACKBONE}",
                receiver_type="T",
                received_dbm=-60.0,
                taken_at=f"2027-05-01T{10 + number // 60}:{number % 60:02}:00Z",
            )
            for number, (x, y) in enumerate(random.uniform([1, 1], [79, 49], (READINGS, 2)))
        ),
    )


def moved(scene: Scene, step: int) -> Scene:
    """The Scene with relay 3 a little further on."""
    nodes = list(scene.nodes)
    place = Placement(level="Hall", position_m=(10.0 + 0.1 * step, 20.0), height_m=2.5)
    nodes[3] = dataclasses.replace(nodes[3], placement=place)
    return dataclasses.replace(scene, nodes=tuple(nodes))


def median_ms(work: Callable[[Scene], object], scene: Scene) -> float:
    """Median wall time of the work on a Scene that has just changed."""
    times = []
    for _ in range(ROUNDS):
        changed = moved(scene, next(steps))  # never a place that was planned before: kept pairs must not answer
        start = time.perf_counter()
        work(changed)
        times.append(1000 * (time.perf_counter() - start))
    return statistics.median(times)


if __name__ == "__main__":
    scene = venue()
    plan(scene)  # warm
    rows = {
        "links, routes, single points, findings": median_ms(plan, scene),
        "of which links": median_ms(lambda one: Analysis(one).links, scene),
        "of which the walk test": median_ms(lambda one: WalkTest(one).predictions, scene),
        "of which power": median_ms(lambda one: (list(power_findings(Analysis(one))), power_assumptions(one)), scene),
        "of which fingerprint": median_ms(fingerprint, scene),
    }
    whole = rows["links, routes, single points, findings"]
    print(f"| {NODES} nodes ({BACKBONE} send, {MOVING} move), {WALLS} walls, one moved | median ms | share |")
    print("| --- | --- | --- |")
    for name, value in rows.items():
        print(f"| {name} | {value:.0f} | {value / whole:.0%} |")
