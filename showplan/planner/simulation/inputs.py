"""What a packet simulation is given: powers between nodes, medium access, how packets are received, traffic."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

EVERYBODY = -1  # as a packet's destination: sent to all who hear it
NOT_SENT_ON = -1  # in `next_hop`

ReceptionRule = Literal["overlap", "threshold", "error-rate"]
BitErrors = Literal["oqpsk-2450", "oqpsk-sub-ghz", "bpsk", "fsk"]
SourceKind = Literal["frames", "random", "after-previous"]


class SimulationError(ValueError):
    """The input describes no network that can be simulated; `faults` says everything that is wrong."""

    def __init__(self, faults: tuple[str, ...]) -> None:
        super().__init__("; ".join(faults))
        self.faults = faults


@dataclass(frozen=True, kw_only=True)
class MediumAccess:
    """Unslotted CSMA-CA with acknowledgements, all times in microseconds; as given, IEEE 802.15.4 at 2450 MHz.

    At least `short_gap_us` follows a packet of up to `short_frame_octets` or its acknowledgement, `long_gap_us` a
    longer one (clause 7.5.1.3); none follows a packet that was given up without being sent.
    """

    min_be: int = 3
    max_be: int = 5
    max_backoffs: int = 4
    retries: int = 3
    unit_backoff_us: float = 320.0
    sensing_us: float = 128.0
    turnaround_us: float = 192.0
    ack_wait_us: float = 864.0
    ack_octets: int = 5
    short_gap_us: float = 192.0
    long_gap_us: float = 640.0
    short_frame_octets: int = 18


@dataclass(frozen=True, kw_only=True)
class FrameTimes:
    """Air time of a frame: (header_octets + PSDU) x octet_us; the first `sync_us` of it are for synchronising."""

    octet_us: float = 32.0
    header_octets: float = 6.0
    sync_us: float = 160.0


@dataclass(frozen=True, kw_only=True)
class Reception:
    """When a frame is received, by the ratio of its power to noise and interference (SINR).

    "overlap": the ratio to noise is at least `threshold_db` and nothing as strong as the noise overlaps;
    "threshold": SINR at least `threshold_db` from start to end; "error-rate": by the bit error formula, bit by bit.
    A receiver is held by the first frame it hears, from `hold_below_db` under `threshold_db` (over noise) on; a
    stronger one takes it over within the synchronising time, or at any time if `takes_over` and its SINR reaches
    `threshold_db`.
    """

    rule: ReceptionRule = "error-rate"
    threshold_db: float = 1.0
    bit_errors: BitErrors = "oqpsk-2450"
    spread_db: float = 0.0
    hold_below_db: float = 6.0
    takes_over: bool = False


@dataclass(frozen=True, kw_only=True)
class Packet:
    """One packet of a frame. `wanted_by` are the nodes whose data it carries, `destination` the one it is sent to.

    It is sent `copies` times by each of `senders`; without them by its source's node. The nodes `repeated_by` send
    what they hear of it to everybody, once, after a random wait. Packets to one destination follow the `next_hop` of
    the input.
    """

    psdu_octets: int
    wanted_by: tuple[int, ...]
    destination: int = EVERYBODY
    acknowledged: bool = False
    copies: int = 1
    repeated_by: tuple[int, ...] = ()
    senders: tuple[int, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Source:
    """What makes packets at a node. "frames": all `packets` at `rate_hz`, first after `offset_s` (None: random).

    "random": all packets at random moments with that mean rate; "after-previous": its one packet, a random time of
    mean 1 / rate_hz, but at least `rest_s`, after the packet before has ended; an infinite rate keeps the node busy.
    """

    node: int
    packets: tuple[Packet, ...]
    rate_hz: float
    kind: SourceKind = "frames"
    offset_s: float | None = None
    rest_s: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Background:
    """Other radio that comes and goes: on for a random time of mean `mean_burst_s`, in all `busy_share` of the time."""

    power_dbm: ArrayLike
    busy_share: float
    mean_burst_s: float = 0.001


@dataclass(frozen=True, kw_only=True)
class SimulationInput:
    """A network of n nodes. `power_dbm` (n, n) is received power [transmitter, receiver]; NaN: nothing arrives.

    `noise_dbm` and `sensing_dbm` (from which the channel counts as busy) are numbers or (n,). Where either end is
    in `fades` (n,) each frame meets Rayleigh fading of its own. `next_hop` (n, n) is [node, destination], -1: none;
    without it packets go to their destination at once. `queue_packets`, a number or (n,), wait in a node at most.
    Packets made in the first `warm_up_s` count nowhere; `duration_s` is simulated after that.
    """

    power_dbm: NDArray[np.float64]
    noise_dbm: ArrayLike = -100.0
    sensing_dbm: ArrayLike = -75.0
    sources: tuple[Source, ...]
    duration_s: float
    warm_up_s: float = 0.0
    seed: int = 0
    access: MediumAccess = field(default_factory=MediumAccess)
    frame_times: FrameTimes = field(default_factory=FrameTimes)
    reception: Reception = field(default_factory=Reception)
    backgrounds: tuple[Background, ...] = ()
    fades: ArrayLike = False
    next_hop: NDArray[np.int32] | None = None
    jitter_us: float = 0.0
    queue_packets: ArrayLike = 16
    trace_length: int = 0

    @property
    def nodes(self) -> int:
        """How many nodes there are."""
        return len(self.power_dbm)


def check(given: SimulationInput) -> None:
    """Raises SimulationError with everything that is wrong."""
    faults = tuple(_faults(given))
    if faults:
        raise SimulationError(faults)


def _faults(given: SimulationInput) -> Iterator[str]:
    n = given.nodes
    power_dbm = np.asarray(given.power_dbm)
    if power_dbm.shape != (n, n) or n == 0:
        yield f"power_dbm must be a square matrix of at least one node, not of shape {power_dbm.shape}"
        return
    for name in ("noise_dbm", "sensing_dbm", "fades", "queue_packets"):
        shape = np.shape(getattr(given, name))
        if shape not in ((), (n,)):
            yield f"{name} must be one value or {n} values, not of shape {shape}"
    if np.isposinf(power_dbm).any() or not np.isfinite(np.asarray(given.noise_dbm, dtype=float)).all():
        yield "power_dbm and noise_dbm must be finite"
    if not 0 < given.duration_s <= 1e6 or not 0 <= given.warm_up_s <= 1e6:
        yield "duration_s must be above 0 and warm_up_s at least 0, neither above 1,000,000 s"
    if given.seed < 0 or np.min(given.queue_packets) < 1 or given.jitter_us < 0 or given.trace_length < 0:
        yield "seed, jitter_us and trace_length must not be negative, queue_packets must be at least 1"
    if given.next_hop is not None:
        hops = np.asarray(given.next_hop)
        if hops.shape != (n, n) or hops.min() < NOT_SENT_ON or hops.max() >= n:
            yield f"next_hop must be a matrix of {n} x {n} nodes, -1 where there is none"
        else:
            yield from _loops(hops)
    yield from _access_faults(given.access, given.frame_times)
    if not given.sources:
        yield "there must be at least one source"
    for number, source in enumerate(given.sources, 1):
        yield from (f"source {number}: {fault}" for fault in _source_faults(source, n))
    for number, other in enumerate(given.backgrounds, 1):
        if not 0 < other.busy_share <= 1 or other.mean_burst_s <= 0 or np.shape(other.power_dbm) not in ((), (n,)):
            yield f"background {number}: busy_share must be in (0, 1], mean_burst_s above 0, power one value or {n}"


def _loops(next_hop: NDArray[np.integer[Any]]) -> Iterator[str]:
    """Ways that come back to where they were: after as many hops as there are nodes they have not arrived."""
    n = len(next_hop)
    destination = np.broadcast_to(np.arange(n), (n, n))
    here = destination.T
    for _ in range(n):
        goes_on = (here != destination) & (here != NOT_SENT_ON)
        if not goes_on.any():
            return
        here = np.where(goes_on, next_hop[here, destination], here)
    start, end = np.argwhere((here != destination) & (here != NOT_SENT_ON))[0]
    yield f"next_hop goes round in a loop on the way from node {start} to node {end}"


def _access_faults(access: MediumAccess, times: FrameTimes) -> Iterator[str]:
    if not 0 <= access.min_be <= access.max_be <= 20:
        yield f"min_be {access.min_be} must be from 0 to max_be {access.max_be}, and that at most 20"
    if access.max_backoffs < 0 or access.retries < 0 or access.ack_octets < 1:
        yield "max_backoffs and retries must not be negative, ack_octets at least 1"
    if min(access.unit_backoff_us, access.sensing_us, access.turnaround_us, times.octet_us) <= 0:
        yield "unit_backoff_us, sensing_us, turnaround_us and octet_us must be above 0"
    if min(access.short_gap_us, access.long_gap_us, times.header_octets, times.sync_us) < 0:
        yield "gaps, header_octets and sync_us must not be negative"
    ack_us = access.turnaround_us + (times.header_octets + access.ack_octets) * times.octet_us
    if access.ack_wait_us <= ack_us:
        yield f"ack_wait_us must be longer than turnaround and acknowledgement take, {ack_us:g} us"


def _source_faults(source: Source, n: int) -> Iterator[str]:
    if not 0 <= source.node < n:
        yield f"node {source.node} is none of the {n}"
    if not source.rate_hz > 0 or (math.isinf(source.rate_hz) and source.kind != "after-previous"):
        yield f"rate_hz must be above 0 and finite, not {source.rate_hz}"
    if not 0 <= source.rest_s <= 1e6:
        yield f"rest_s must be from 0 to 1,000,000 s, not {source.rest_s}"
    if not source.packets or (source.kind == "after-previous" and len(source.packets) != 1):
        yield "it must have packets, and exactly one if it is of the kind 'after-previous'"
    for packet in source.packets:
        senders = packet.senders or (source.node,)
        to = () if packet.destination < 0 else (packet.destination,)
        named = (*packet.wanted_by, *packet.repeated_by, *to)
        if not packet.wanted_by or any(not 0 <= node < n for node in (*named, *senders)) or set(senders) & set(named):
            yield f"a packet must name nodes 0 to {n - 1} other than its sender, and be wanted by one at least"
        if packet.psdu_octets < 1 or packet.copies < 1:
            yield "psdu_octets and copies must be at least 1"
        if packet.acknowledged and packet.destination == EVERYBODY:
            yield "a packet to everybody cannot be acknowledged"
        if len(senders) > 1 and packet.destination != EVERYBODY:
            yield "a packet to one destination has one sender"
        if source.kind == "after-previous" and packet.senders not in ((), (source.node,)):
            yield "a source of the kind 'after-previous' sends its packet itself"
