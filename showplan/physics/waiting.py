"""Waiting in a queue, runs of lost frames, and what sending costs in time and energy."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula

_LOSS: Final = Parameter("frame_loss", "", "share of frames lost", None, 0, 1, 0, 1)
_RATE: Final = Parameter("frames_per_s", "1/s", "frames a second", None, 1, 100, 0, 1e5)
_RUNS: Final = Source("runs of independent trials", standing="derived")
_INDEPENDENT: Final = "losses independent from frame to frame; a performer in the way loses many in a row"


@formula(
    expression="w = ρ S / (2 (1 − ρ))",
    parameters=(
        Parameter("utilisation", "", "share of the time in which the server works", None, 0, 0.95, 0, 0.999999),
        Parameter("service_ms", "ms", "time of one service", None, 0, 1000, 0, 1e6),
    ),
    result_unit="ms",
    source=Source("single server, random arrivals, fixed service (textbook form)", standing="memory"),
    validity="random commands on one radio channel",
)
def fixed_service_wait_ms(utilisation: Numeric, service_ms: Numeric) -> Numeric:
    """Mean wait in ms before service begins. Numbers or arrays that broadcast."""
    busy = np.asarray(utilisation)
    wait_ms: Numeric = busy * service_ms / (2 * (1 - busy))
    return wait_ms


@formula(
    expression="n = f (1 − p) p^k",
    parameters=(_LOSS, _RATE, Parameter("run_frames", "", "k: frames lost in a row", None, 1, 1000, 0, 1e6)),
    result_unit="1/s",
    source=_RUNS,
    validity=_INDEPENDENT,
)
def lost_runs_per_s(frame_loss: Numeric, frames_per_s: Numeric, run_frames: Numeric) -> Numeric:
    """How often a second a run of at least k lost frames begins. Numbers or arrays that broadcast."""
    loss = np.asarray(frame_loss, float)
    runs: Numeric = frames_per_s * (1 - loss) * loss ** np.asarray(run_frames, float)
    return runs


@formula(
    expression="t = (k + 1) / f, f (1 − p) p^k T = 1, k ≥ 0",
    parameters=(
        Parameter("frame_loss", "", "share of frames lost", None, 0, 0.99, 0, 0.999999),
        Parameter("frames_per_s", "1/s", "frames a second", None, 1, 100, maximum=1e5, above=0),
        Parameter("duration_s", "s", "time looked at: a show hour", 3600, 60, 86400, maximum=1e9, above=0),
    ),
    result_unit="s",
    source=_RUNS,
    validity=f"the run that is expected once in the time; {_INDEPENDENT}",
)
def longest_stale_s(frame_loss: Numeric, frames_per_s: Numeric, duration_s: Numeric = 3600) -> Numeric:
    """Longest time in s between two frames that arrive, as expected once in a duration. Arrays broadcast."""
    loss, rate = np.asarray(frame_loss, float), np.asarray(frames_per_s, float)
    with np.errstate(divide="ignore"):
        run = -np.log(np.maximum(rate * (1 - loss) * duration_s, 1.0)) / np.log(loss)
    stale_s: Numeric = (np.maximum(run, 0.0) + 1) / rate
    return stale_s


@formula(
    expression="d = t n / 1000",
    parameters=(
        Parameter("air_time_ms", "ms", "air time of one frame", None, 0, 1000, 0, 1e6),
        Parameter("frames_per_s", "1/s", "frames a second", None, 0, 100, 0, 1e5),
    ),
    result_unit="",
    source=Source("share of the time", standing="derived"),
    validity="one transmitter's own sending; acknowledgements belong to whoever sends them",
)
def sending_share(air_time_ms: Numeric, frames_per_s: Numeric) -> Numeric:
    """Share of the time in which one transmitter sends. Numbers or arrays that broadcast."""
    share: Numeric = np.asarray(air_time_ms) * frames_per_s / 1000
    return share


@formula(
    expression="E = U I t",
    parameters=(
        Parameter("current_ma", "mA", "supply current while it sends or hears", None, 1, 200, 0, 1e5),
        Parameter("supply_v", "V", "supply voltage", 3.3, 1.8, 5, 0, 1e3),
        Parameter("time_ms", "ms", "how long", 1, 0, 1000, 0, 1e9),
    ),
    result_unit="mJ",
    source=Source("energy of a steady current", standing="derived"),
    validity="the radio's own current; listening costs about as much as receiving",
)
def radio_energy_mj(current_ma: Numeric, supply_v: Numeric = 3.3, time_ms: Numeric = 1) -> Numeric:
    """Energy in mJ that a radio takes while it sends or hears. Numbers or arrays that broadcast."""
    energy_mj: Numeric = np.asarray(current_ma) * supply_v * time_ms / 1000
    return energy_mj
