"""What a packet simulation finds, with 95 % intervals over the replications."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student_t

from showplan.planner.simulation.inputs import SimulationInput
from showplan.planner.simulation.world import BUSY_NS, EVENTS, OCTAVES, STEPS, TRACED, World

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
QUANTILES: Final = (0.5, 0.95, 0.99)
CONFIDENCE: Final = 0.95
# With no loss in k packets the loss is below 3 / k with 95 % confidence (the "rule of three", textbook form).
RULE_OF_THREE: Final = 3.0


@dataclass(frozen=True)
class Estimate:
    """Mean of the replications and its 95 % interval, each of one shape; NaN bounds for a single replication."""

    value: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True)
class Replication:
    """The counts of one run; see `SimulationResult` for their shapes."""

    counts: dict[str, Whole]
    losses: Whole
    latencies: NDArray[np.int32]
    trace: Any
    events: int
    busy_ns: int

    @classmethod
    def of(cls, world: World) -> "Replication":
        """The counts of a world whose run has ended."""
        names = world.counts.dtype.names
        return cls(
            {name: world.counts[name].copy() for name in names},
            world.losses[:, 1:].copy(),
            world.latencies,
            world.trace[: world.control[TRACED]].copy(),
            int(world.control[EVENTS]),
            int(world.control[BUSY_NS]),
        )


@dataclass(frozen=True)
class SimulationResult:
    """Everything by node, (n,) unless said otherwise; a node that wants no packet has NaN.

    `offered` packets were wanted, `delivered` came, `losses` (n, reasons) did not, in the order of REASONS.
    `latency_ms` is (n, 3) for the quantiles 50, 95 and 99 %, from the moment a packet is made to the end of the first
    copy that arrives; `histogram` (n, steps) counts them between `histogram_edges_ms` (steps + 1,).
    Of senders: `packets` made, given up for `no_access` or `no_ack`, `sensed` and found `sensed_busy`, frames `sent`,
    of which `failed` at the node they were sent to; `service_ms`, from the packet's turn to its last frame or
    acknowledgement of the `served`. `utilisation` is the sum of all air times over the time, `air_share` (n,) that of
    each node, `busy_share` the share of the time in which anybody sends.
    `trace` has the first frames of the first replication.
    """

    replications: int
    duration_s: float
    seed: int
    offered: Whole
    delivered: Whole
    delivery: Estimate
    losses: Whole
    mean_latency_ms: Floats
    latency_ms: Estimate
    all_latency_ms: Estimate
    histogram: Whole
    histogram_edges_ms: Floats
    packets: Whole
    no_access: Whole
    no_ack: Whole
    sensed: Whole
    sensed_busy: Whole
    sent: Whole
    failed: Whole
    service_ms: Floats
    served: Whole
    utilisation: Estimate
    busy_share: Estimate
    air_share: Floats
    trace: Any
    events: int

    @property
    def packets_per_s(self) -> Floats:
        """Packets that reached each node, a second."""
        return self.delivered / (self.duration_s * self.replications)


def merge(given: SimulationInput, runs: Sequence[Replication]) -> SimulationResult:
    """The replications as one result, in their order."""
    totals: dict[str, Whole] = {name: np.sum([one.counts[name] for one in runs], axis=0) for name in runs[0].counts}
    histogram = np.asarray(np.sum([one.latencies for one in runs], axis=0, dtype=np.int64))
    with np.errstate(invalid="ignore", divide="ignore"):
        shares = [one.counts["delivered"] / one.counts["offered"] for one in runs]
        delivery = _estimate(totals["delivered"] / totals["offered"], shares)
        mean_latency_ms = totals["latency_ns"] / totals["delivered"] / 1e6
        service_ms = totals["service_ns"] / totals["served"] / 1e6
    time_ns = given.duration_s * 1e9
    air_share = totals["air_ns"] / (time_ns * len(runs))
    utilisation = [np.array(one.counts["air_ns"].sum() / time_ns) for one in runs]
    busy = [np.array(one.busy_ns / time_ns) for one in runs]
    everything = histogram.sum(axis=0, keepdims=True)
    every_run = [one.latencies.sum(axis=0, keepdims=True) for one in runs]
    return SimulationResult(
        replications=len(runs),
        duration_s=given.duration_s,
        seed=given.seed,
        offered=totals["offered"],
        delivered=totals["delivered"],
        delivery=_sure(delivery, totals),
        losses=np.sum([one.losses for one in runs], axis=0),
        mean_latency_ms=mean_latency_ms,
        latency_ms=_estimate(quantiles_ms(histogram), [quantiles_ms(one.latencies) for one in runs]),
        all_latency_ms=_estimate(quantiles_ms(everything)[0], [quantiles_ms(one)[0] for one in every_run]),
        histogram=histogram,
        histogram_edges_ms=edges_ms(),
        service_ms=service_ms,
        utilisation=_estimate(np.array(air_share.sum()), utilisation),
        busy_share=_estimate(np.mean(busy, axis=0), busy),
        air_share=air_share,
        trace=runs[0].trace,
        events=sum(one.events for one in runs),
        **{
            name: totals[name]
            for name in ("packets", "no_access", "no_ack", "sensed", "sensed_busy", "sent", "failed", "served")
        },
    )


def _estimate(value: Floats, runs: Sequence[Floats]) -> Estimate:
    """Student's t over the replications, about the pooled value; those without data (NaN) are left out."""
    values = np.array(runs, dtype=np.float64)
    count = np.sum(~np.isnan(values), axis=0)
    enough = count >= 2
    safe = np.where(enough, count, 2)
    filled = np.where(np.isnan(values), 0.0, values)
    mean = filled.sum(axis=0) / np.maximum(count, 1)
    squares = np.where(np.isnan(values), 0.0, (values - mean) ** 2).sum(axis=0)
    half = student_t.ppf((1 + CONFIDENCE) / 2, safe - 1) * np.sqrt(squares / (safe - 1) / safe)
    half = np.where(enough, half, np.nan)
    return Estimate(np.asarray(value, dtype=np.float64), value - half, value + half)


def _sure(delivery: Estimate, totals: dict[str, Whole]) -> Estimate:
    """Bounds of a share: within 0 and 1, and no surer than so many packets allow where all or none arrived."""
    offered, delivered = totals["offered"], totals["delivered"]
    least = RULE_OF_THREE / np.maximum(offered, 1)
    low = np.where((delivered == offered) & (offered > 0), 1 - least, delivery.low)
    high = np.where((delivered == 0) & (offered > 0), least, delivery.high)
    return Estimate(delivery.value, np.clip(low, 0, 1), np.clip(high, 0, 1))


def edges_ms() -> Floats:
    """Edges of the latency histogram: each octave from 1 us on in equal steps."""
    octave, step = np.divmod(np.arange(STEPS * OCTAVES + 1), STEPS)
    return np.asarray(2.0**octave * (1 + step / STEPS) / 1000)


def quantiles_ms(histogram: NDArray[Any]) -> Floats:
    """(rows, 3): the QUANTILES of each row's histogram, evenly spread within a step (1.6 % wide); NaN for none."""
    edges = edges_ms()
    upto = np.cumsum(histogram, axis=1, dtype=np.float64)
    found = np.full((len(histogram), len(QUANTILES)), np.nan)
    for row in np.flatnonzero(upto[:, -1]):
        for column, share in enumerate(QUANTILES):
            wanted = share * upto[row, -1]
            step = int(np.searchsorted(upto[row], wanted))
            before = upto[row, step - 1] if step else 0.0
            part = (wanted - before) / histogram[row, step]
            found[row, column] = edges[step] + part * (edges[step + 1] - edges[step])
    return found
