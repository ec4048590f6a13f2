"""Circuits worked out by ngspice, an independent circuit simulator: netlists in, figures out, many in one run."""

import re
import shutil
import subprocess
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

LONGEST_RUN_S = 60
_EXACT = ".options reltol=1e-9 abstol=1e-12 vntol=1e-9"
_ANSWER = re.compile(r"^answer_(\d+)_(\d+) = (\S+)$", re.MULTILINE)


@dataclass(frozen=True)
class Circuit:
    """A netlist (element lines only), how it is analysed, and the expressions wanted of it.

    `analysis`: 'op' for direct current, or 'tran STEP END [uic]'; with the latter `measures` hold 'meas tran' lines
    without these two words, and the expressions name what was measured.
    """

    netlist: str
    wanted: tuple[str, ...]
    analysis: str = "op"
    measures: tuple[str, ...] = ()


def node_volts(netlist: str, *nodes: str) -> dict[str, float]:
    """Direct voltages of the named nodes of one netlist."""
    (volts,) = simulate([Circuit(netlist, tuple(f"v({node})" for node in nodes))])
    return dict(zip(nodes, volts, strict=True))


def simulate(circuits: Iterable[Circuit]) -> list[tuple[float, ...]]:
    """For each circuit what its expressions come to, in their order; one run of ngspice for all."""
    wanted = list(circuits)
    program = shutil.which("ngspice")
    assert program, "ngspice is not there: install the package ngspice (deploy/test.sh does it)"
    with tempfile.TemporaryDirectory() as folder:
        commands = []
        for number, circuit in enumerate(wanted):
            text = f"* {number}\n{circuit.netlist.strip()}\n{_EXACT if circuit.analysis == 'op' else ''}\n.end\n"
            Path(folder, f"{number}.cir").write_text(text, encoding="utf-8")
            commands += _commands(number, circuit)
        script = ["* all", ".control", "set numdgt=12", *commands, "quit", ".endc", ".end", ""]
        Path(folder, "all.cir").write_text("\n".join(script), encoding="utf-8")
        ran = subprocess.run(
            [program, "-b", "all.cir"],
            cwd=folder,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=LONGEST_RUN_S,
            check=False,
        )
    found = {(int(n), int(k)): float(value) for n, k, value in _ANSWER.findall(ran.stdout)}
    keys = [[(n, k) for k in range(len(circuit.wanted))] for n, circuit in enumerate(wanted)]
    missing = [key for row in keys for key in row if key not in found]
    assert not missing, f"ngspice gave no {missing}:\n{ran.stderr[-2000:]}"
    return [tuple(found[key] for key in row) for row in keys]


def ladder(
    *,
    ohm_per_m: float,
    length_m: float,
    cells: int,
    load: str,
    feeds: tuple[tuple[float, float, float], ...],
) -> str:
    """Netlist of a tape in equal cells, nodes n0 to n`cells`, half a load at its ends.

    `load` is the current of one cell as an expression of {v}, its voltage; each feed is (place in m, volts, ohms of its
    cable), its source named vfeed0, vfeed1, ...
    """
    lines = []
    for cell in range(cells):
        lines.append(f"rt{cell} n{cell} n{cell + 1} {ohm_per_m * length_m / cells:.12g}")
    for node in range(cells + 1):
        share = 0.5 if node in (0, cells) else 1.0
        lines.append(f"bl{node} n{node} 0 i={share}*({load.format(v=f'v(n{node})')})")
    for feed, (place_m, volts, ohm) in enumerate(feeds):
        node = round(place_m / length_m * cells)
        source = f"f{feed}" if ohm else f"n{node}"
        lines.append(f"vfeed{feed} {source} 0 {volts:.12g}")
        if ohm:
            lines.append(f"rfeed{feed} f{feed} n{node} {ohm:.12g}")
    # the search starts from full voltage: loads of constant power have a second, low solution
    start_v = max(volts for _, volts, _ in feeds)
    lines += [f".nodeset v(n{node})={start_v:.12g}" for node in range(cells + 1)]
    return "\n".join(lines)


def _commands(number: int, circuit: Circuit) -> list[str]:
    lines = [f"source {number}.cir", circuit.analysis]
    lines += [f"meas tran {measure}" for measure in circuit.measures]
    for place, expression in enumerate(circuit.wanted):
        lines += [f"let answer_{number}_{place} = {expression}", f"print answer_{number}_{place}"]
    return [*lines, "destroy all", "remcirc"]
