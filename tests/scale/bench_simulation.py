"""How fast packets are simulated: run by hand, `python tests/scale/bench_simulation.py`.

Packets a second of wall time on one core, in one run: the compiled simulation and the simpy model of the tests, on
single-hop networks of 20 nodes that all hear each other; then what the wider rules cost. Compiling is not counted.
Prints a Markdown table; the ratios count, not the seconds.
"""

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from showplan.planner.simulation import Background, Packet, Reception, SimulationInput, Source, simulate
from tests.process_simulation import Star
from tests.simulations import LOUD_DBM, star

SENDERS, OCTETS, PER_S = 19, 40, 5.0
ROUNDS = 5


def compiled(given: SimulationInput) -> tuple[int, float]:
    """Packets and the best time of some rounds."""
    simulate(replace(given, duration_s=0.1), threads=1)
    best_s = np.inf
    for _ in range(ROUNDS):
        start_s = time.perf_counter()
        packets = int(simulate(given, threads=1).packets.sum())
        best_s = min(best_s, time.perf_counter() - start_s)
    return packets, best_s


def processes(duration_s: float, *, acknowledged: bool) -> tuple[int, float]:
    """The same of the simpy model."""
    best_s = np.inf
    for seed in range(3):
        model = Star(SENDERS, OCTETS, PER_S, acknowledged=acknowledged, hidden=False, seed=seed, warm_up_s=0.0)
        start_s = time.perf_counter()
        packets = model.run(duration_s).packets
        best_s = min(best_s, time.perf_counter() - start_s)
    return packets, best_s


def show(reception: Reception, **changes: object) -> SimulationInput:
    """A gateway that sends four packets for all of 19 receivers, 25 times a second."""
    packets = tuple(Packet(psdu_octets=127, wanted_by=tuple(range(1, 20))) for _ in range(4))
    source = Source(node=0, packets=packets, rate_hz=25.0)
    power_dbm = np.full((20, 20), LOUD_DBM)
    return SimulationInput(power_dbm=power_dbm, sources=(source,), duration_s=500.0, reception=reception, **changes)  # type: ignore[arg-type]


def main() -> None:
    """Measure and print."""
    errors = Reception(rule="error-rate")
    weak = Reception(rule="error-rate", threshold_db=0.4)
    contending = star(SENDERS, OCTETS, PER_S, acknowledged=True, duration_s=500.0)
    rows: list[tuple[str, Callable[[], tuple[int, float]]]] = [
        ("19 senders, acknowledged", lambda: compiled(contending)),
        ("the same, simpy", lambda: processes(30.0, acknowledged=True)),
        (
            "19 senders, not acknowledged",
            lambda: compiled(star(SENDERS, OCTETS, PER_S, acknowledged=False, duration_s=500.0)),
        ),
        ("the same, simpy", lambda: processes(30.0, acknowledged=False)),
        ("19 senders, acknowledged, bit errors", lambda: compiled(replace(contending, reception=errors))),
        ("one gateway for 19, bit errors", lambda: compiled(show(errors))),
        ("the same at 2 dB over the noise", lambda: compiled(show(weak, noise_dbm=LOUD_DBM - 2))),
        ("the same, all fading", lambda: compiled(show(errors, fades=True))),
        (
            "the same, other radio 30 % of the time",
            lambda: compiled(show(errors, backgrounds=(Background(power_dbm=-70.0, busy_share=0.3),))),
        ),
    ]
    print("| network of 20 nodes | packets/s | microseconds a packet |")
    print("| --- | ---: | ---: |")
    for words, measure in rows:
        packets, took_s = measure()
        print(f"| {words} | {packets / took_s:,.0f} | {1e6 * took_s / packets:.2f} |")


if __name__ == "__main__":
    main()
