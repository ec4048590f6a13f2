"""Random nodes against two other solutions: ngspice, and networkx with scipy; tapes against scipy and the catalogue.

200 nodes, all in one run of ngspice; agreement within 0.1 % of every voltage and current.
"""

from functools import cache

import networkx as nx
import numpy as np
import pytest
from scipy.integrate import solve_bvp
from scipy.sparse import csr_array, diags_array
from scipy.sparse.linalg import spsolve

from showplan.physics.power_tape import power_tape_current_a, power_tape_far_v
from showplan.physics.string_tape import string_tape_current_a, string_tape_far_light
from showplan.physics.tape import points_with_ends_drop_v, points_within_drop_v
from showplan.planner.power.circuit import Circuit, Solved, solve
from showplan.planner.power.power_tape import PowerTape
from showplan.planner.power.tape import AffineTape, SteadyTape, Tape
from tests import circuits

NODES, CELLS = 200, 40
TENTH_PERCENT = 1e-3
SMALL_A = 1e-6


class Net:
    """A case as plain elements, for other programs: resistors, currents to ground, strings, constant powers."""

    def __init__(self, emf_v: float) -> None:
        self.emf_v = emf_v
        self.resistors: list[tuple[str, str, float]] = []
        self.currents: list[tuple[str, float]] = []
        self.strings: list[tuple[str, float, float]] = []
        self.powers: list[tuple[str, float]] = []
        self.probes: list[str] = []

    def spice(self) -> circuits.Circuit:
        """The case for ngspice; `nodeset` keeps constant powers off their second, low solution."""
        lines = [f"vemf emf 0 {self.emf_v:.12g}"]
        lines += [f"r{i} {a} {b} {ohm:.12g}" for i, (a, b, ohm) in enumerate(self.resistors)]
        lines += [f"i{i} {a} 0 {amps:.12g}" for i, (a, amps) in enumerate(self.currents)]
        lines += [f"bs{i} {a} 0 i={s:.12g}*max(v({a})-{dark:.12g},0)" for i, (a, s, dark) in enumerate(self.strings)]
        lines += [f"bp{i} {a} 0 i={watts:.12g}/v({a})" for i, (a, watts) in enumerate(self.powers)]
        names = dict.fromkeys(name for a, b, _ in self.resistors for name in (a, b))
        lines += [f".nodeset v({name})={self.emf_v:.12g}" for name in names]
        return circuits.Circuit("\n".join(lines), tuple(f"v({name})" for name in self.probes))

    def laplacian(self) -> tuple[float, ...] | None:
        """The volts of the probes by networkx and scipy; None where a load is not linear, or dark."""
        if self.powers:
            return None
        graph = nx.MultiGraph()
        for a, b, ohm in self.resistors:
            graph.add_edge(a, b, weight=1 / ohm)
        free = [name for name in graph if name != "emf"]
        place = {name: i for i, name in enumerate(free)}
        whole = csr_array(nx.laplacian_matrix(graph, nodelist=[*free, "emf"]))
        to_ground, injected = np.zeros(len(free)), np.zeros(len(free))
        for name, amps in self.currents:
            injected[place[name]] -= amps
        for name, siemens, dark_v in self.strings:
            to_ground[place[name]] += siemens
            injected[place[name]] += siemens * dark_v
        injected -= whole[:-1, [-1]].toarray().ravel() * self.emf_v
        volts = spsolve((whole[:-1, :-1] + diags_array(to_ground)).tocsc(), injected)
        if any(volts[place[name]] < dark_v for name, _, dark_v in self.strings):
            return None
        return tuple(float(volts[place[name]]) for name in self.probes)


def random_tape(random: np.random.Generator) -> Tape:
    """A tape fed at points that lie between cells."""
    count = int(random.choice([1, 1, 2, 3]))
    length = float(random.uniform(0.5, 6))
    at = sorted(random.choice(CELLS + 1, count, replace=False))
    return Tape(
        length,
        float(random.uniform(0.02, 0.2)),
        tuple(length * i / CELLS for i in at),
        float(random.uniform(0.01, 0.2)),
    )


def add_tape(net: Net, name: str, tape: Tape, kind: str, amount: float, dark_v: float) -> None:
    """Cells of a tape that begins at the node `name`, half a cell's load at its ends."""
    for place_m in tape.points_m:
        net.resistors.append((name, f"{name}_{round(place_m / tape.length_m * CELLS)}", tape.cable_ohm))
    for cell in range(CELLS + 1):
        at, share = f"{name}_{cell}", amount / CELLS * (0.5 if cell in (0, CELLS) else 1.0)
        if cell < CELLS:
            net.resistors.append((at, f"{name}_{cell + 1}", tape.ohm_per_m * tape.length_m / CELLS))
        match kind:
            case "steady":
                net.currents.append((at, share))
            case "string":
                net.strings.append((at, share, dark_v))
            case _:
                net.powers.append((at, share))


@cache
def everything() -> tuple[list[Net], Solved, Circuit, list[list[int]]]:
    """The random nets, our solution of them all at once, and which nodes belong to which."""
    random = np.random.default_rng(11)
    nets: list[Net] = []
    emf, source, supply, trunk, standing, node = [], [], [], [], [], []
    series, fixed, siemens, dark, watts, tapes = [], [], [], [], [], []
    members: list[list[int]] = []
    for case in range(NODES):
        volts = float(random.choice([5.0, 12.0, 24.0]))
        net = Net(volts)
        emf.append(volts)
        source.append(float(random.uniform(0.005, 0.08)))
        net.resistors.append(("emf", "s", source[-1]))
        net.probes.append("s")
        members.append([])
        for k in range(2 if case % 4 == 0 else 1):
            members[-1].append(len(trunk))
            supply.append(case)
            trunk.append(float(random.uniform(0.005, 0.05)))
            standing.append(float(random.uniform(0.0, 0.1)))
            net.resistors.append(("s", f"b{k}", trunk[-1]))
            net.currents.append((f"b{k}", standing[-1]))
            net.probes.append(f"b{k}")
            for _ in range(int(random.integers(1, 7))):
                kind = str(random.choice(["steady", "string", "resistive", "power"], p=[0.3, 0.3, 0.25, 0.15]))
                amps = float(random.uniform(0.05, 1.2))
                dark_v = (
                    volts * float(random.choice([0.7, 0.75, 1.2], p=[0.45, 0.45, 0.1])) if kind == "string" else 0.0
                )
                slope = amps / max(volts - dark_v, 0.2 * volts)
                name = f"l{k}_{len(node)}"
                node.append(len(trunk) - 1)
                series.append(float(random.uniform(0.005, 0.15)))
                net.resistors.append((f"b{k}", name, series[-1]))
                net.probes.append(name)
                amount = {"steady": amps, "power": amps * volts}.get(kind, slope)
                shape = "string" if kind == "resistive" else kind
                tape = random_tape(random) if random.random() < 0.4 and dark_v < volts else None
                fixed.append(amps if kind == "steady" else 0.0)
                dark.append(dark_v)
                watts.append(amount if kind == "power" and tape is None else 0.0)
                siemens.append(slope if shape == "string" else 0.0)
                if tape is None:
                    match shape:
                        case "steady":
                            net.currents.append((name, amount))
                        case "string":
                            net.strings.append((name, amount, dark_v))
                        case _:
                            net.powers.append((name, amount))
                    continue
                add_tape(net, name, tape, shape, amount, dark_v)
                if shape == "string":
                    siemens[-1] = AffineTape(tape, slope / tape.length_m, dark_v).siemens
                elif shape == "power":
                    tapes.append((len(node) - 1, PowerTape(tape, amount / tape.length_m, series[-1])))
        nets.append(net)
    circuit = Circuit(
        emf_v=np.array(emf),
        source_ohm=np.array(source),
        supply=np.array(supply),
        trunk_ohm=np.array(trunk),
        standing_a=np.array(standing),
        node=np.array(node),
        series_ohm=np.array(series),
        fixed_a=np.array(fixed),
        siemens=np.array(siemens),
        threshold_v=np.array(dark),
        watts=np.array(watts),
        power_tapes=tuple(tapes),
    )
    return nets, solve(circuit), circuit, members


def ours(case: int) -> tuple[list[float], list[float]]:
    """(volts of the case's probes, amperes of its outputs) in the order of the net."""
    _, solved, circuit, members = everything()
    volts, amps = [float(solved.supply_v[case])], []
    for k in members[case]:
        volts.append(float(solved.node_v[k]))
        for output in np.nonzero(circuit.node == k)[0]:
            volts.append(float(solved.output_v[output]))
            amps.append(float(solved.output_a[output]))
    return volts, amps


def amps_of(case: int, volts: tuple[float, ...]) -> list[float]:
    """Amperes of the outputs from another program's volts, over the resistance before each."""
    _, _, circuit, members = everything()
    found, at = [], 1
    for k in members[case]:
        node_v, at = volts[at], at + 1
        for output in np.nonzero(circuit.node == k)[0]:
            found.append((node_v - volts[at]) / float(circuit.series_ohm[output]))
            at += 1
    return found


def test_200_random_nodes_against_ngspice():
    nets, solved, _, _ = everything()
    assert not solved.has_collapsed.any()
    answers = circuits.simulate([net.spice() for net in nets])
    for case, theirs in enumerate(answers):
        volts, amps = ours(case)
        assert volts == pytest.approx(list(theirs), rel=TENTH_PERCENT), case
        assert amps == pytest.approx(amps_of(case, theirs), rel=TENTH_PERCENT, abs=SMALL_A), case


def test_random_nodes_against_a_graph_laplacian():
    nets, *_ = everything()
    checked = 0
    for case, net in enumerate(nets):
        theirs = net.laplacian()
        if theirs is None:
            continue
        checked += 1
        volts, amps = ours(case)
        assert volts == pytest.approx(list(theirs), rel=TENTH_PERCENT), case
        assert amps == pytest.approx(amps_of(case, theirs), rel=TENTH_PERCENT, abs=SMALL_A), case
    assert checked > NODES / 4


@pytest.mark.parametrize("points", [(0.0,), (1.0,), (0.0, 4.0), (0.5, 2.0, 4.0)])
@pytest.mark.parametrize("cable_ohm", [0.001, 0.08])
def test_tape_of_constant_power_against_a_boundary_problem(points, cable_ohm):
    """r p = V V'' between feed points, by scipy's collocation: pieces stretched to 0..1, joined at the feeds."""
    tape = Tape(4.0, 0.1, points, cable_ohm)
    found = PowerTape(tape, 14.4).profile(12.0)
    pieces = tape.pieces
    lengths = np.array([end - start for start, end in pieces])

    def slopes(_, y):
        volts, rates = y[: len(lengths)], y[len(lengths) :]
        return np.vstack([rates * lengths[:, None], 0.1 * 14.4 / volts * lengths[:, None]])

    def joins(left, right):
        n = len(lengths)
        gaps = []
        for i, (start, end) in enumerate(pieces):
            if i:
                fed = (12.0 - left[i]) / cable_ohm
                gaps += [left[i] - right[i - 1], (left[n + i] - right[n + i - 1]) / 0.1 + fed]
            if not i:
                gaps.append(left[n] + 0.1 * (12.0 - left[0]) / cable_ohm if start in points else left[n])
            if i == n - 1:
                gaps.append(right[-1] - 0.1 * (12.0 - right[i]) / cable_ohm if end in points else right[-1])
        return np.array(gaps)

    x = np.linspace(0, 1, 60)
    guess = np.vstack([np.full((len(lengths), len(x)), 11.5), np.zeros((len(lengths), len(x)))])
    solved = solve_bvp(slopes, joins, x, guess, tol=1e-9)
    assert solved.success
    assert found.least_v == pytest.approx(float(solved.sol(np.linspace(0, 1, 400))[: len(lengths)].min()), rel=1e-5)
    assert max(found.volts) == pytest.approx(float(solved.y[: len(lengths)].max()), rel=1e-5)


def test_tape_of_constant_power_fed_at_one_end():
    # reference figure: 12 V, 5 m, 0.10 ohm/m, 14.4 W/m; nodal ladder, ngspice and two power-flow programs agree
    tape = PowerTape(Tape(5.0, 0.1, (0.0,), 0.0), 14.4)
    assert tape.current_a(12.0)[0] == pytest.approx(6.637139, abs=1e-6)
    assert tape.profile(12.0).least_v == pytest.approx(10.297999, abs=1e-6)


@pytest.mark.parametrize(("points", "ends"), [((0.0,), 1), ((0.0, 5.0), 2)])
def test_tape_of_constant_power_against_the_catalogue(points, ends):
    tape = PowerTape(Tape(5.0, 0.1, points, 0.1), 14.4)
    args = (12.0, 14.4, 0.1, 5.0, 0.1, ends)
    assert tape.current_a(12.0)[0] == pytest.approx(power_tape_current_a(*args), rel=1e-5)
    assert tape.profile(12.0).least_v == pytest.approx(power_tape_far_v(*args), rel=1e-5)


@pytest.mark.parametrize(("points", "ends"), [((0.0,), 1), ((0.0, 5.0), 2)])
@pytest.mark.parametrize("lead_ohm", [0.0, 0.26])
def test_led_tape_against_the_catalogue(points, ends, lead_ohm):
    tape = AffineTape(Tape(5.0, 0.1, points, lead_ohm), 1.2 / 3, 9.0)
    args = (12.0, 1.2, 0.1, 5.0, 12.0, 9.0, lead_ohm, ends)
    assert 3 * tape.siemens == pytest.approx(string_tape_current_a(*args), rel=1e-9)
    assert tape.profile.least_v == pytest.approx(string_tape_far_light(*args), rel=1e-9)


@pytest.mark.parametrize(
    ("points", "drop_v"),
    [
        ((0.0,), 1.5),
        ((0.0, 5.0), points_with_ends_drop_v(1.2, 0.1, 5.0)),
        ((0.0, 2.5, 5.0), points_with_ends_drop_v(1.2, 0.1, 5.0, 3)),
        ((2.5,), points_within_drop_v(1.2, 0.1, 5.0)),
        ((1.25, 3.75), points_within_drop_v(1.2, 0.1, 5.0, 2)),
    ],
)
def test_even_load_against_the_catalogue(points, drop_v):
    assert -SteadyTape(Tape(5.0, 0.1, points, 0.0), 1.2).profile.least_v == pytest.approx(drop_v, rel=1e-9)
