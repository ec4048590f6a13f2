"""How long power of a tour takes: 200 nodes of 6 outputs, beside a plain ngspice run for each node, by hand.

    python tests/scale/bench_power.py

Prints a Markdown table of processor seconds, because others share the machine. 'Kept' is a plan after a node has
moved: power depends on nothing that changed.
"""

import dataclasses
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from showplan.planner.power import kept
from showplan.planner.power.facts import facts_of
from showplan.planner.power.planned import planned
from showplan.planner.scene import Scene
from showplan.planner.scene_power import Load, PartLevel, ShowPart, Supply
from tests.scenes import hall, node

NODES, OUTPUTS, ROUNDS, SPICED = 200, 6, 7, 20
CELLS = 100  # of a tape in the ngspice run


def tour() -> Scene:
    """Nodes with a battery each: four tapes, a lamp and a fan; six parts of the day."""
    base = hall()
    supplies, nodes, loads = [], [], []
    for number in range(NODES):
        label = f"N{number}"
        supplies.append(
            Supply(label=f"B{number}", kind="battery", chemistry="lifepo4", nominal_v=12.8, capacity_ah=7.5, packs=3)
        )
        nodes.append(
            node(label, "receiver", number + 1, 1.0, 1.0, supply=f"B{number}", trunk_length_m=0.5, main_fuse_a=15.0)
        )
        for output in range(1, OUTPUTS + 1):
            kind = "lamp" if output == 5 else "fan" if output == 6 else "tape"
            loads.append(
                Load(
                    label=f"{label}.{output}",
                    kind=kind,
                    node=label,
                    output=output,
                    rated_v=12.0,
                    rated_w=5.0 * output,
                    length_m=1.0 * output if kind == "tape" else None,
                    feeding="both-ends" if output == 4 else "one-end",
                    cable_length_m=1.0 + 0.1 * (number % 7),
                    cable_area_mm2=0.75,
                    fuse_a=3.0,
                )
            )
    parts = [
        ShowPart(name=name, position=i, kind=kind, minutes=minutes, level=level)
        for i, (name, kind, minutes, level) in enumerate(
            [
                ("rehearsal", "rehearsal", 60.0, 0.2),
                ("charge", "gap", 120.0, 0.0),
                ("pre-set", "pre-set", 60.0, 0.05),
                ("act 1", "act", 70.0, 0.3),
                ("interval", "interval", 20.0, 0.05),
                ("act 2", "act", 60.0, 0.4),
            ]
        )
    ]
    sort = dataclasses.replace(base.node_types[0], outputs=OUTPUTS, switch_on_mohm=8.0, switch_k_per_w=40.0)
    return dataclasses.replace(
        base,
        node_types=(sort,),
        supplies=tuple(supplies),
        nodes=tuple(nodes),
        loads=tuple(loads),
        show_parts=tuple(parts),
        part_levels=tuple(PartLevel(part="act 1", load=load.label, level=0.5) for load in loads[::3]),
        readings=(),
    )


def netlist(scene: Scene, label: str) -> str:
    """One node for ngspice, as behaving at nominal voltage; tapes in cells."""
    [facts] = [one for one in facts_of(scene).nodes if one.node.label == label]
    supply = facts_of(scene).supplies[facts.supply]
    lines = [f"* {label}", f"v0 e 0 {supply.emf_v.nominal}", f"r0 e b {supply.source_ohm + facts.trunk_ohm}"]
    lines.append(f"vd d 0 {9.0}")
    for i, out in enumerate(facts.outputs):
        lines.append(f"rs{i} b s{i} {out.fuse_ohm + out.switch_mohm / 1000}")
        if out.tape is None:
            lines.append(f"rl{i} s{i} l{i} {out.lead_ohm}")
            load = f"i={out.rated_w}/v(l{i})" if out.behaviour == "constant-power" else f"i={out.siemens}*v(l{i})"
            lines.append(f"bl{i} l{i} 0 {load}")
            continue
        for j, place in enumerate(out.tape.points_m):
            lines.append(f"rl{i}_{j} s{i} t{i}_{round(place / out.tape.length_m * CELLS)} {out.lead_ohm}")
        for cell in range(CELLS + 1):
            share = out.siemens / CELLS * (0.5 if cell in (0, CELLS) else 1.0)
            lines.append(f"rg{i}_{cell} t{i}_{cell} d {1 / share}")
            if cell < CELLS:
                lines.append(
                    f"rt{i}_{cell} t{i}_{cell} t{i}_{cell + 1} {out.tape.ohm_per_m * out.tape.length_m / CELLS}"
                )
    return "\n".join([*lines, ".op", ".end", ""])


def spice_s(scene: Scene) -> float:
    """Mean time of one ngspice run for one node."""
    with tempfile.TemporaryDirectory() as folder:
        names = []
        for number in range(SPICED):
            path = Path(folder, f"{number}.cir")
            path.write_text(netlist(scene, f"N{number}"), encoding="utf-8")
            names.append(str(path))
        start = _children_s()
        for name in names:
            subprocess.run(["ngspice", "-b", name], capture_output=True, check=True, stdin=subprocess.DEVNULL)
        return (_children_s() - start) / SPICED


def _children_s() -> float:
    spent = resource.getrusage(resource.RUSAGE_CHILDREN)
    return spent.ru_utime + spent.ru_stime


def median_s(work: Callable[[int], object]) -> float:
    """Median processor time of several rounds."""
    times = []
    for step in range(ROUNDS):
        start = time.process_time()
        work(step)
        times.append(time.process_time() - start)
    return statistics.median(times)


if __name__ == "__main__":
    scene = tour()

    def fresh(step: int) -> object:
        kept._worked_out.cache_clear()
        return kept.kept(scene)

    fresh(0)
    everything = median_s(fresh)
    numbers = median_s(lambda step: planned(scene))
    facts = median_s(lambda step: facts_of(scene))
    again = median_s(lambda step: kept.kept(scene))
    spice = spice_s(scene)
    print(f"| {NODES} nodes of {OUTPUTS} outputs | processor, s |")
    print("| --- | ---: |")
    print(f"| numbers and findings | {everything:.3f} |")
    print(f"| of which numbers | {numbers:.3f} |")
    print(f"| of which facts | {facts:.3f} |")
    print(f"| kept: a node has moved | {again:.4f} |")
    times = NODES * spice / everything
    print(f"| ngspice, one of the four states, a run a node | {NODES * spice:.1f}, {times:.0f} times as long |")
