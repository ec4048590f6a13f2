"""How fast the fewest relays are found and proven: run by hand.

    python tests/scale/bench_relays.py YARDSTICK.py [ROW ...] [--seconds=120] [--no-plain]

YARDSTICK.py is a file with `venue(...)` (boolean reach matrices of a random hall) and `plain_layered_model(...)` (the
same question as one integer programme). Rows, all when none is named: `200x100x4` and so on (candidate sites, nodes,
hops), with `k2` behind for two node-disjoint routes, `cover` for coverage only, `most` for the most nodes that too few
relays serve. The latter two need spopt and ortools: make an environment of its own with numpy, scipy, spopt and ortools
and run it there. `--seconds=120` limits each run,
`--no-plain` leaves the plain model out. Prints Markdown rows; where others use the processors, CPU seconds count.
"""

import importlib.util
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from showplan.planner.relays.answer import RelayPlacement
from showplan.planner.relays.most_served import most_served
from showplan.planner.relays.problem import RelayProblem
from showplan.planner.relays.solve import solve
from showplan.planner.relays.watch import Settings
from tests.planner.relays.problems import covering, hall_reach

HALLS = {"200x100x4": (80, 50), "500x100x4": (80, 50), "1000x300x4": (80, 50), "500x100x7": (80, 50)}
HALLS |= {"1000x300x6": (120, 80), "2000x300x6": (120, 80)}
ROWS = (*HALLS, "200x100x4k2", "500x100x4k2", "cover", "most")
# Sites, nodes, width and depth of the hall in m, relays in the truck.
TOO_FEW = ((60, 40, 80, 50, 3), (200, 100, 80, 50, 5), (500, 100, 80, 50, 5), (1000, 300, 120, 80, 10))
CP_SAT_S = 60.0
SEED = 1
WITHIN = 0.05


class FirstStage:
    """Notes when the first placement came and when the gap was small, ends the search after the first stage."""

    def __init__(self) -> None:
        self.start_s = time.perf_counter()
        self.first_s = self.within_s = self.proven_s = np.inf
        self.is_over = False
        self.end: tuple[float, float] = (np.inf, 0.0)

    def progress(self, done: float, doing: str, best: RelayPlacement | None, bound: float) -> None:
        if best is not None:
            self.first_s = min(self.first_s, time.perf_counter() - self.start_s)
            self.end = (best.cost, bound)
            if best.cost - bound <= WITHIN * best.cost:
                self.within_s = min(self.within_s, time.perf_counter() - self.start_s)
            if best.cost - bound <= 1e-6:
                self.proven_s = min(self.proven_s, time.perf_counter() - self.start_s)
        self.is_over = self.is_over or doing.startswith("Seeking")

    def is_cancelled(self) -> bool:
        return self.is_over


def problem_of(reach: tuple[Any, ...], hops: int, routes: int) -> RelayProblem:
    """A relay problem from boolean matrices."""
    between, last, first, direct = (np.asarray(part, dtype=float) for part in reach)
    np.fill_diagonal(between, 0)
    n, m = last.shape
    return RelayProblem(
        tuple(f"S{i}" for i in range(n)),
        tuple(f"N{i}" for i in range(m)),
        between,
        last,
        np.atleast_2d(first),
        np.atleast_2d(direct),
        ("G",),
        np.ones(n),
        np.zeros(n, dtype=bool),
        np.zeros(n, dtype=bool),
        hops,
        (routes,) * m,
    )


def timed(work: Callable[[], Any]) -> tuple[Any, float, float]:
    """Result, wall seconds, CPU seconds of this process."""
    wall, cpu = time.perf_counter(), time.process_time()
    result = work()
    return result, time.perf_counter() - wall, time.process_time() - cpu


def placement_row(yardstick: Any, row: str, seconds: float, with_plain: bool) -> str:
    """Ours beside the plain model."""
    name, _, routes = row.partition("k")
    n, m, hops = map(int, name.split("x"))
    width_m, depth_m = HALLS[name]
    reach = yardstick.venue(n, m, SEED, float(width_m), float(depth_m))
    problem = problem_of(reach, hops, int(routes or 1))
    watch = FirstStage()
    _, wall_s, cpu_s = timed(lambda: solve(problem, watch=watch, settings=Settings(seconds=seconds / 0.75)))
    cost, bound = watch.end
    gap = f"{(cost - bound) / cost:.0%}"
    times = f"{watch.first_s:.1f} | {watch.within_s:.0f} | {watch.proven_s:.0f}"
    ours = f"{cost:.0f} / {bound:.0f} ({gap}) | {times} | {wall_s:.0f} / {cpu_s:.0f}"
    if routes or not with_plain:
        return f"| {row} | {ours} | - | - | - |"
    (result, _), plain_wall_s, plain_cpu_s = timed(lambda: yardstick.plain_layered_model(*reach, hops, seconds))
    found = "none" if result.x is None else f"{result.fun:.0f}"
    lower = np.ceil((result.mip_dual_bound or 0.0) - 1e-6)
    loose = "-" if result.x is None else f"{(result.fun - lower) / result.fun:.0%}"
    plain = f"{found} / {lower:.0f} ({loose}) | {plain_wall_s:.0f} / {plain_cpu_s:.0f} | {plain_cpu_s / cpu_s:.1f}"
    return f"| {row} | {ours} | {plain} |"


def coverage_rows(yardstick: Any) -> list[str]:
    """Every site beside a gateway: the location set covering problem, by ours, spopt and CP-SAT."""
    import pulp
    from ortools.sat.python import cp_model
    from spopt.locate import LSCP

    rows = []
    for n, m, width_m, depth_m in ((200, 100, 80, 50), (500, 100, 80, 50), (1000, 300, 120, 80)):
        _, last, _, _ = yardstick.venue(n, m, SEED, float(width_m), float(depth_m))
        heard = last[:, last.any(axis=0)]
        reach = (np.zeros((n, n)), heard, np.ones(n), np.zeros(heard.shape[1]))
        problem = problem_of(reach, 2, 1)
        watch = FirstStage()
        _, _, ours_s = timed(lambda p=problem, w=watch: solve(p, watch=w))  # type: ignore[misc]

        def by_spopt(heard: Any = heard) -> float:
            model = LSCP.from_cost_matrix(np.where(heard.T, 0.0, 2.0), 1.0)
            return float(model.solve(pulp.PULP_CBC_CMD(msg=False)).problem.objective.value())

        def by_cp_sat(heard: Any = heard) -> float:
            model = cp_model.CpModel()
            taken = [model.new_bool_var(str(site)) for site in range(heard.shape[0])]
            for node in heard.T:
                model.add_bool_or([taken[site] for site in np.flatnonzero(node)])
            model.minimize(sum(taken))
            return objective_of(model)

        spopt, spopt_s = timed_with_children(by_spopt)
        cp_sat, _, cp_sat_s = timed(by_cp_sat)
        cost, bound = watch.end
        assert cost == bound == spopt <= cp_sat, (cost, bound, spopt, cp_sat)
        late = f", then at {cp_sat:.0f}" if cp_sat > cost else ""
        rows.append(
            f"| {n} x {m} | {cost:.0f} | {ours_s:.2f} | {spopt_s / ours_s:.1f} | {cp_sat_s / ours_s:.1f}{late} |"
        )
    return rows


def objective_of(model: Any) -> float:
    """The best that CP-SAT finds on one processor within its time."""
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = CP_SAT_S
    solver.solve(model)
    return float(solver.objective_value)


def timed_with_children(work: Callable[[], float]) -> tuple[float, float]:
    """Result and CPU seconds, those of a solver that runs as a process of its own included."""
    children = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    result, _, seconds = timed(work)
    return result, seconds + resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - children


def most_served_rows() -> list[str]:
    """Too few relays: the maximal covering location problem, by ours, spopt and CP-SAT."""
    import pulp
    from ortools.sat.python import cp_model
    from spopt.locate import MCLP

    rows = []
    for n, m, width_m, depth_m, relays in TOO_FEW:
        heard = hall_reach(n, m, SEED, float(width_m), float(depth_m))
        problem = covering(heard)
        found, _, ours_s = timed(lambda p=problem, r=relays: most_served(p, r))  # type: ignore[misc]

        def by_spopt(heard: Any = heard, relays: int = relays) -> float:
            distance = np.where(heard.T, 0.0, 2.0)
            model = MCLP.from_cost_matrix(distance, np.ones(heard.shape[1]), service_radius=1.0, p_facilities=relays)
            return float(model.solve(pulp.PULP_CBC_CMD(msg=False)).problem.objective.value())

        def by_cp_sat(heard: Any = heard, relays: int = relays) -> float:
            model = cp_model.CpModel()
            taken = [model.new_bool_var(f"s{site}") for site in range(heard.shape[0])]
            served = [model.new_bool_var(f"n{node}") for node in range(heard.shape[1])]
            for node, one in zip(heard.T, served, strict=True):
                model.add_bool_or([*(taken[site] for site in np.flatnonzero(node)), one.negated()])
            model.add(sum(taken) <= relays)
            model.maximize(sum(served))
            return objective_of(model)

        spopt, spopt_s = timed_with_children(by_spopt)
        cp_sat, _, cp_sat_s = timed(by_cp_sat)
        assert len(found.nodes) == found.bound == spopt >= cp_sat, (found, spopt, cp_sat)
        late = f", then at {cp_sat:.0f}" if cp_sat < spopt else ""
        rows.append(
            f"| {n} x {m} | {relays} | {spopt:.0f} | {ours_s:.2f} | {spopt_s / ours_s:.1f}"
            f" | {cp_sat_s / ours_s:.1f}{late} |"
        )
    return rows


def main() -> None:
    """Measure and print."""
    path, *rows = [argument for argument in sys.argv[1:] if not argument.startswith("--")]
    options = dict(argument[2:].partition("=")[::2] for argument in sys.argv[1:] if argument.startswith("--"))
    spec = importlib.util.spec_from_file_location("yardstick", path)
    assert spec is not None
    assert spec.loader is not None
    yardstick = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(yardstick)
    ours = "ours: relays / bound (gap) | first, s | within 5 %, s | proven, s"
    plain = "plain: relays / bound | wall / CPU s | x"
    print(f"| case | {ours} | wall / CPU s | {plain} |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    for row in rows or ROWS:
        if row == "most":
            print("| too few relays | relays | nodes | ours, CPU s | spopt takes x | CP-SAT takes x (60 s at most) |")
            print("\n".join(most_served_rows()), flush=True)
        elif row != "cover":
            seconds = float(options.get("seconds", 120))
            print(placement_row(yardstick, row, seconds, "no-plain" not in options), flush=True)
        else:
            print("| coverage only | relays | ours, CPU s | spopt takes x | CP-SAT takes x (60 s at most) |")
            print("\n".join(coverage_rows(yardstick)), flush=True)


if __name__ == "__main__":
    main()
