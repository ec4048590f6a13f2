"""Runs replications of a simulation beside each other and merges them in their order."""

import os
import threading
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from typing import Final

import numpy as np

from showplan.planner.simulation.inputs import SimulationError, SimulationInput, check
from showplan.planner.simulation.results import Replication, SimulationResult, merge
from showplan.planner.simulation.world import DONE, NOW, STOP, STOPPED, build
from showplan.planner.watch import Watch

MOST_ROOM: Final = 4096  # a million packets under way
LOOK_EVERY_S: Final = 0.2


def simulate(
    given: SimulationInput, replications: int = 1, *, threads: int | None = None, watch: Watch | None = None
) -> SimulationResult:
    """The merged result of so many independent runs; number i has the i-th stream of the seed.

    The result depends on the input and the number of replications only, not on `threads` (None: one for each core).
    Where the watch cancels, what has been finished in order by then is merged; `replications` of the result says how
    many that are. Raises SimulationError for an input that cannot be simulated, and if cancelled before the first
    replication was done.
    """
    check(given)
    if replications < 1:
        raise SimulationError((f"replications must be at least 1, not {replications}",))
    seeds = np.random.SeedSequence(given.seed).spawn(replications)
    runs = [_Run(_of_own(given, number), int(one.generate_state(1, np.uint64)[0])) for number, one in enumerate(seeds)]
    with ThreadPoolExecutor(max_workers=threads or os.cpu_count() or 1) as pool:
        futures = [pool.submit(run.simulate) for run in runs]
        _attend(runs, futures, watch)
        found = [future.result() for future in futures]
    done = [one for one in found if one is not None]
    if not done:
        raise SimulationError(("cancelled before the first replication was done",))
    if len(done) < replications:
        done = found[: found.index(None)] or done[:1]  # type: ignore[assignment]
    return merge(given, done)


def _of_own(given: SimulationInput, number: int) -> SimulationInput:
    """Only the first replication is traced."""
    return given if number == 0 else replace(given, trace_length=0)


def _attend(runs: list["_Run"], futures: list[Future[Replication | None]], watch: Watch | None) -> None:
    """Report until all are done; stop them when nobody wants them any more."""
    done = threading.Event()
    for future in futures:
        future.add_done_callback(lambda _: done.set() if all(one.done() for one in futures) else None)
    while not done.wait(LOOK_EVERY_S if watch is not None else None):
        assert watch is not None
        share = sum(run.share_done() for run in runs) / len(runs)
        finished = sum(future.done() for future in futures)
        watch.progress(share, f"{finished} of {len(runs)} replications done")
        if watch.is_cancelled():
            for run in runs:
                run.stop()


class _Run:
    """One replication."""

    def __init__(self, given: SimulationInput, entropy: int) -> None:
        self._given, self._entropy = given, entropy
        self._control: np.ndarray | None = None
        self._stopped, self._is_done = threading.Event(), False

    def simulate(self) -> Replication | None:
        """Its counts; None where it was stopped."""
        # Compiled code is loaded here, not when a server imports the module.
        from showplan.planner.simulation.engine import run

        room = 1
        while not self._stopped.is_set():
            world = build(self._given, self._entropy, room)
            self._control = world.control
            if self._stopped.is_set():
                break
            end = run(world)
            if end == DONE:
                self._is_done = True
                return Replication.of(world)
            if end == STOPPED:
                break
            room *= 4
            if room > MOST_ROOM:
                raise SimulationError(("more packets are under way than can be kept: the network is overloaded",))
        return None

    def stop(self) -> None:
        """Let it end soon."""
        self._stopped.set()
        if self._control is not None:
            self._control[STOP] = 1

    def share_done(self) -> float:
        """From 0 to 1, by simulated time."""
        if self._is_done or self._control is None:
            return float(self._is_done)
        end_ns = (self._given.warm_up_s + self._given.duration_s) * 1e9
        return min(float(self._control[NOW]) / end_ns, 1.0)
