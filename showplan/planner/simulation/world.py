"""Everything a running simulation knows, as flat arrays: times in nanoseconds, powers in milliwatts."""

import math
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from showplan.physics.error_rate import (
    bpsk_bit_error_rate,
    fsk_bit_error_rate,
    oqpsk_bit_error_rate,
    sub_ghz_oqpsk_bit_error_rate,
)
from showplan.planner.simulation.inputs import SimulationInput, Source

# What a node's medium access does.
IDLE, BACKING_OFF, SENSING, TURNING, SENDING, AWAITING_ACK, PAUSING = range(7)
# What a node's transmitter sends.
NOTHING, DATA, ACK = range(3)
# Kinds of events. At one moment the lower comes first: a frame that ends frees the channel for who senses then, and
# one that starts when sensing ends was not yet heard.
FRAME_ENDS, SENSING_ENDS, BACKGROUND_TURNS, FRAME_STARTS, ACK_STARTS, PASSING_ON_IS_DUE = range(6)
ACK_IS_LATE, GAP_ENDS, PACKETS_ARISE, BACKOFF_ENDS = range(6, 10)
# How the run ended.
DONE, STOPPED, TOO_SMALL = range(3)
# Places in `control` (int64): the moment, whether to stop; sizes of heap and free list; frames on the air, packets
# under way, trace lines, whether an array was too small; events; since when and how long the channel was in use.
NOW, STOP, HEAP_SIZE, FREE_SLOTS, ON_AIR, UNDER_WAY, TRACED, OVERFLOWN, EVENTS, BUSY_SINCE, BUSY_NS = range(11)
# Why a packet did not reach a node that wanted it.
NO_REASON, COLLISION, NO_ACCESS, TOO_WEAK, RELAYS, QUEUE_FULL = range(6)
REASONS: Final = ("collision", "access", "noise", "relays", "queue")
# Marks of a packet at a node.
DELIVERED, PASSED_ON = 1, 2
RULES: Final = {"overlap": 0, "threshold": 1, "error-rate": 2}
KINDS: Final = {"frames": 0, "random": 1, "after-previous": 2}
NS_PER_US: Final = 1000
NS_PER_S: Final = 1_000_000_000

# The latency histogram: each octave of microseconds in 64 equal steps, from 1 us to 134 s.
STEPS, OCTAVES = 64, 27
TABLE_LOW_DB, TABLE_STEP_DB, TABLE_LENGTH = -30.0, 0.05, 1001

_CONSTANTS = [
    *((name, "i8") for name in ("min_be", "max_be", "max_backoffs", "retries", "ack_octets", "short_frame_octets")),
    *((f"{name}_ns", "i8") for name in ("unit_backoff", "sensing", "turnaround", "ack_wait", "short_gap", "long_gap")),
    *((f"{name}_ns", "i8") for name in ("sync", "jitter", "warm_up", "end")),
    *((name, "f8") for name in ("octet_ns", "header_octets", "threshold", "clean")),
    *((name, "i8") for name in ("rule", "takes_over", "fading")),
]
_NODE = [
    *((name, "i4") for name in ("state", "busy_counts", "be", "tries", "token", "sensed_busy")),
    *((name, "i4") for name in ("sending", "sent_slot", "sent_to", "held_by", "spoilt", "ack_due", "ack_to")),
    *((name, "i4") for name in ("queue_first", "queue_length", "room", "fades")),
    *((name, "i8") for name in ("held_since_ns", "judged_to_ns", "begun_ns")),
    *(
        (name, "f8")
        for name in ("power_mw", "noise_mw", "sensing_mw", "hold_mw", "log_received", "bits_per_ns", "bits")
    ),
]
_TEMPLATE = [
    (name, "i4") for name in ("source", "sender", "octets", "destination", "acknowledged", "copies", "relayed")
]
_SLOT = [("template", "i4"), ("uses", "i4"), ("counted", "i4"), ("made_ns", "i8")]
_WAITING = [("slot", "i4"), ("to", "i4"), ("acknowledged", "i4"), ("last", "i4")]
_SOURCE = [
    *((name, "i4") for name in ("node", "first", "last", "kind")),
    ("gap_ns", "f8"),
    *((name, "i8") for name in ("next_ns", "rest_ns")),
]
_BACKGROUND = [("is_on", "i4"), ("on_ns", "f8"), ("off_ns", "f8")]
_COUNTS = [
    *((name, "i8") for name in ("offered", "delivered", "packets", "no_access", "no_ack", "sensed", "sensed_busy")),
    *((name, "i8") for name in ("sent", "failed", "air_ns", "service_ns", "served", "latency_ns")),
]
_TRACE = [("start_ns", "i8"), ("node", "i4"), ("template", "i4"), ("octets", "i4"), ("kind", "i4"), ("heard_by", "i4")]


class World(NamedTuple):
    """n nodes, t templates (the packets of all sources), s slots (packets under way)."""

    control: NDArray[np.int64]
    chance: NDArray[np.uint64]  # (1,) state of the random numbers
    constants: Any  # (1,) records
    nodes: Any  # (n,) records
    mean_mw: NDArray[np.float64]  # (n, n)
    now_mw: NDArray[np.float64]  # (n, n) of the frames on the air
    in_reach: NDArray[np.uint8]  # (n, n)
    next_hop: NDArray[np.int32]  # (n, n)
    log_bit_ok: NDArray[np.float64]  # logarithm of 1 - BER over SINR
    heap_keys: NDArray[np.int64]  # 16 x time + kind
    heap_what: NDArray[np.int64]  # node or number, and argument
    templates: Any  # (t,) records
    wanted: NDArray[np.uint8]  # (t, n)
    repeats: NDArray[np.uint8]  # (t, n)
    origins: NDArray[np.uint8]  # (t, n)
    sources: Any
    slots: Any  # (s,) records
    free: NDArray[np.int32]  # (s,)
    marks: NDArray[np.uint8]  # (s, n)
    reasons: NDArray[np.uint8]  # (s, n)
    queues: Any  # (n, most of queue_packets) records
    backgrounds: Any
    background_mw: NDArray[np.float64]  # (backgrounds, n)
    outcomes: NDArray[np.int32]  # (n,)
    counts: Any  # (n,) records
    losses: NDArray[np.int64]  # (n, reasons)
    latencies: NDArray[np.int32]  # (n, STEPS * OCTAVES)
    trace: Any


def build(given: SimulationInput, entropy: int, room: int) -> World:
    """The world at time 0. `room` scales the arrays whose need is not known; it changes no result."""
    n = given.nodes
    nodes = _nodes(given)
    mean_mw = np.where(np.isnan(given.power_dbm), 0.0, 10 ** (np.asarray(given.power_dbm, dtype=np.float64) / 10))
    np.fill_diagonal(mean_mw, 0.0)
    direct = np.broadcast_to(np.arange(n, dtype=np.int32), (n, n))
    templates = [(number, packet) for number, source in enumerate(given.sources) for packet in source.packets]
    slots = 256 * room
    heap = 1024 * room + 16 * n + len(given.sources) + len(given.backgrounds)
    world = World(
        control=np.zeros(BUSY_NS + 1, dtype=np.int64),
        chance=np.array([entropy], dtype=np.uint64),
        constants=_constants(given),
        nodes=nodes,
        mean_mw=mean_mw,
        now_mw=np.zeros((n, n)),
        in_reach=(mean_mw >= nodes["noise_mw"] * 10 ** (given.reception.threshold_db / 10)).astype(np.uint8),
        next_hop=np.ascontiguousarray(direct if given.next_hop is None else given.next_hop, dtype=np.int32),
        log_bit_ok=_log_bit_ok(given),
        heap_keys=np.zeros(heap, dtype=np.int64),
        heap_what=np.zeros(heap, dtype=np.int64),
        templates=np.zeros(len(templates), dtype=_TEMPLATE),
        wanted=np.zeros((len(templates), n), dtype=np.uint8),
        repeats=np.zeros((len(templates), n), dtype=np.uint8),
        origins=np.zeros((len(templates), n), dtype=np.uint8),
        sources=np.array([_source(given, number) for number in range(len(given.sources))], dtype=_SOURCE),
        slots=np.zeros(slots, dtype=_SLOT),
        free=np.arange(slots, dtype=np.int32)[::-1].copy(),
        marks=np.zeros((slots, n), dtype=np.uint8),
        reasons=np.zeros((slots, n), dtype=np.uint8),
        queues=np.zeros((n, int(np.max(given.queue_packets))), dtype=_WAITING),
        backgrounds=np.zeros(len(given.backgrounds), dtype=_BACKGROUND),
        background_mw=np.zeros((len(given.backgrounds), n)),
        outcomes=np.zeros(n, dtype=np.int32),
        counts=np.zeros(n, dtype=_COUNTS),
        losses=np.zeros((n, len(REASONS) + 1), dtype=np.int64),
        latencies=np.zeros((n, STEPS * OCTAVES), dtype=np.int32),
        trace=np.zeros(given.trace_length, dtype=_TRACE),
    )
    world.control[FREE_SLOTS] = slots
    for row, (number, packet) in enumerate(templates):
        senders = list(packet.senders or (given.sources[number].node,))
        relayed = bool(packet.repeated_by) or packet.destination not in (-1, *packet.wanted_by)
        if packet.destination >= 0:
            relayed |= int(world.next_hop[senders[0], packet.destination]) != packet.destination
        world.templates[row] = (
            *(number, senders[0], packet.psdu_octets, packet.destination, packet.acknowledged, packet.copies, relayed),
        )
        world.wanted[row, list(packet.wanted_by)] = 1
        world.repeats[row, list(packet.repeated_by)] = 1
        world.origins[row, senders] = 1
    for row, other in enumerate(given.backgrounds):
        off_s = other.mean_burst_s * (1 / other.busy_share - 1)
        world.backgrounds[row] = (0, other.mean_burst_s * NS_PER_S, off_s * NS_PER_S)
        world.background_mw[row] = 10 ** (np.asarray(other.power_dbm) / 10)
    return world


def _ns(time_us: float) -> int:
    return round(time_us * NS_PER_US)


def _constants(given: SimulationInput) -> Any:
    access, times, reception = given.access, given.frame_times, given.reception
    found = np.zeros(1, dtype=_CONSTANTS)
    for name in ("min_be", "max_be", "max_backoffs", "retries", "ack_octets", "short_frame_octets"):
        found[name] = getattr(access, name)
    for name in ("unit_backoff", "sensing", "turnaround", "ack_wait", "short_gap", "long_gap"):
        found[f"{name}_ns"] = _ns(getattr(access, f"{name}_us"))
    found["sync_ns"], found["jitter_ns"] = _ns(times.sync_us), _ns(given.jitter_us)
    found["warm_up_ns"] = round(given.warm_up_s * NS_PER_S)
    found["end_ns"] = round((given.warm_up_s + given.duration_s) * NS_PER_S)
    found["octet_ns"], found["header_octets"] = times.octet_us * NS_PER_US, times.header_octets
    found["threshold"] = 10 ** (reception.threshold_db / 10)
    # Above this ratio a frame of any length has no wrong bit in a lifetime: no need to look the rate up.
    log_bit_ok = _log_bit_ok(given)
    clean = np.flatnonzero(log_bit_ok < -1e-13)
    found["clean"] = 10 ** ((TABLE_LOW_DB + TABLE_STEP_DB * (int(clean[-1]) + 1 if len(clean) else 0)) / 10)
    found["rule"], found["takes_over"] = RULES[reception.rule], reception.takes_over
    found["fading"] = bool(np.any(given.fades))
    return found


def _nodes(given: SimulationInput) -> Any:
    found = np.zeros(given.nodes, dtype=_NODE)
    reception = given.reception
    found["noise_mw"] = 10 ** (np.asarray(given.noise_dbm, dtype=np.float64) / 10)
    found["sensing_mw"] = 10 ** (np.asarray(given.sensing_dbm, dtype=np.float64) / 10)
    found["hold_mw"] = found["noise_mw"] * 10 ** ((reception.threshold_db - reception.hold_below_db) / 10)
    found["fades"] = np.asarray(given.fades, dtype=bool)
    found["held_by"] = -1
    found["room"] = given.queue_packets
    return found


def _source(given: SimulationInput, number: int) -> tuple[int | float, ...]:
    source: Source = given.sources[number]
    first = sum(len(other.packets) for other in given.sources[:number])
    gap_ns = 0.0 if math.isinf(source.rate_hz) else NS_PER_S / source.rate_hz
    next_ns = -1 if source.offset_s is None else round(source.offset_s * NS_PER_S)
    rest_ns = round(source.rest_s * NS_PER_S)
    return (source.node, first, first + len(source.packets), KINDS[source.kind], gap_ns, next_ns, rest_ns)


def _log_bit_ok(given: SimulationInput) -> NDArray[np.float64]:
    sinr_db = TABLE_LOW_DB + TABLE_STEP_DB * np.arange(TABLE_LENGTH) + given.reception.spread_db
    formula = {
        "oqpsk-2450": oqpsk_bit_error_rate,
        "oqpsk-sub-ghz": sub_ghz_oqpsk_bit_error_rate,
        "bpsk": bpsk_bit_error_rate,
        "fsk": fsk_bit_error_rate,
    }[given.reception.bit_errors]
    return np.asarray(np.log1p(-np.asarray(formula(sinr_db))), dtype=np.float64)
