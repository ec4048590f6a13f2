"""Small networks for the tests of the packet simulation."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from scipy.stats import t as student_t

from showplan.planner.simulation import (
    EVERYBODY,
    FrameTimes,
    MediumAccess,
    Packet,
    Reception,
    SimulationInput,
    SimulationResult,
    Source,
    simulate,
)

LOUD_DBM = -50.0
# What overlaps is lost: no capture.
NO_CAPTURE = Reception(rule="overlap")
# Symbols of IEEE 802.15.4-2006: backoff unit, sensing, turnaround, both gaps (read in public source files).
UNIT, SENSING, TURNAROUND, SHORT_GAP, LONG_GAP = 20, 8, 12, 12, 40
# Symbol time in microseconds, symbols to an octet, symbols of the synchronisation header.
PHYS = {"oqpsk-2450": (16, 2, 10), "oqpsk-868": (40, 2, 10), "bpsk-868": (50, 8, 40)}


def radio(phy: str, **changes: Any) -> dict[str, Any]:
    """Medium access and frame times of a PHY, as arguments of SimulationInput."""
    symbol_us, octet, sync = PHYS[phy]
    access = {
        "unit_backoff_us": UNIT * symbol_us,
        "sensing_us": SENSING * symbol_us,
        "turnaround_us": TURNAROUND * symbol_us,
        "ack_wait_us": (UNIT + TURNAROUND + sync + 6 * octet) * symbol_us,
        "short_gap_us": SHORT_GAP * symbol_us,
        "long_gap_us": LONG_GAP * symbol_us,
    }
    return {
        "access": MediumAccess(**(access | changes)),
        "frame_times": FrameTimes(octet_us=octet * symbol_us, sync_us=sync * symbol_us),
    }


def star(
    senders: int,
    psdu_octets: int,
    per_s: float,
    *,
    acknowledged: bool,
    hidden: bool = False,
    rests: bool = True,
    **changes: Any,
) -> SimulationInput:
    """Senders 0 to n - 1 and their sink n. `per_s` packets a second after the previous one; infinite: always busy.

    All hear each other unless `hidden`. With `rests` a sender pauses for a gap after every packet, also one that it
    could not send, as in the simulators compared with; the standard asks for a gap between frames only.
    """
    n = senders + 1
    power_dbm = np.full((n, n), LOUD_DBM)
    if hidden:
        power_dbm[:senders, :senders] = np.nan
    packet = Packet(
        psdu_octets=psdu_octets,
        wanted_by=(senders,),
        destination=senders if acknowledged else EVERYBODY,
        acknowledged=acknowledged,
    )
    access: MediumAccess = changes.get("access", MediumAccess())
    gap_us = access.short_gap_us if psdu_octets <= access.short_frame_octets else access.long_gap_us
    rest_s = gap_us / 1e6 if rests else 0.0
    sources = tuple(
        Source(node=i, packets=(packet,), rate_hz=per_s, kind="after-previous", rest_s=rest_s) for i in range(senders)
    )
    values: dict[str, Any] = {"reception": NO_CAPTURE, "duration_s": 10.0, "warm_up_s": 1.0}
    return SimulationInput(power_dbm=power_dbm, sources=sources, **(values | changes))


def flood(
    relays: int, psdu_octets: int, *, hidden: bool = False, floods: int = 20_000, **changes: Any
) -> SimulationInput:
    """Gateway 0, relays 1 to k that repeat at once what they hear of it, and a target k + 1 that hears only relays."""
    n = relays + 2
    power_dbm = np.full((n, n), LOUD_DBM)
    power_dbm[0, n - 1] = power_dbm[n - 1, 0] = np.nan
    if hidden:
        power_dbm[1 : n - 1, 1 : n - 1] = np.nan
    repeating = tuple(range(1, n - 1))
    packet = Packet(psdu_octets=psdu_octets, wanted_by=(n - 1,), repeated_by=repeating)
    values: dict[str, Any] = {
        "reception": NO_CAPTURE,
        "duration_s": floods / 2,
        "trace_length": floods * (relays + 1),
        "sources": (Source(node=0, packets=(packet,), rate_hz=2.0, offset_s=0.0),),
    }
    return SimulationInput(power_dbm=power_dbm, **(values | changes))


def copies(result: SimulationResult, relays: int) -> list[Any]:
    """The trace of each flood's copies, in the order of their start."""
    trace = result.trace[np.argsort(result.trace["start_ns"], kind="stable")]
    starts = np.flatnonzero(trace["node"] == 0)
    return [part[1:] for part in np.split(trace, starts[1:])]


def measured(given: SimulationInput, senders: int, seeds: Sequence[int]) -> dict[str, tuple[float, float]]:
    """Mean and half of the 95 % interval over the seeds, of what contention studies tell."""
    runs = [_told(simulate(_seeded(given, seed), threads=1), senders) for seed in seeds]
    half = student_t.ppf(0.975, len(runs) - 1) / math.sqrt(len(runs))
    names = runs[0]
    values = {name: np.array([run[name] for run in runs]) for name in names}
    return {name: (float(of.mean()), float(of.std(ddof=1) * half)) for name, of in values.items()}


def _seeded(given: SimulationInput, seed: int) -> SimulationInput:
    return replace(given, seed=seed)


def _told(result: SimulationResult, senders: int) -> dict[str, float]:
    def sum_of(values: Any) -> float:
        return float(values[:senders].sum())

    packets, sent = sum_of(result.packets), sum_of(result.sent)
    is_acknowledged = bool(result.failed.sum())
    delivered = float(result.delivered[senders])
    return {
        "busy": float(result.busy_share.value),
        "alpha": sum_of(result.sensed_busy) / sum_of(result.sensed),
        "collision": sum_of(result.failed) / sent if is_acknowledged else 1 - delivered / sent,
        "no access": sum_of(result.no_access) / packets,
        "no ack": sum_of(result.no_ack) / packets,
        "reliability": 1 - (sum_of(result.no_access) + sum_of(result.no_ack)) / packets
        if is_acknowledged
        else delivered / packets,
        "delay ms": float(np.nansum(result.service_ms * result.served)) / sum_of(result.served),
        "sent": sent / packets,
        "good per s": (sum_of(result.served) if is_acknowledged else delivered) / result.duration_s,
    }
