"""Compiled: frames on the air, what every node hears of them, and whether they are received."""

import math

from showplan.planner.simulation.compiled import compiled
from showplan.planner.simulation.events import exponential, push, uniform
from showplan.planner.simulation.world import (
    BUSY_NS,
    BUSY_SINCE,
    COLLISION,
    DATA,
    FRAME_ENDS,
    NO_REASON,
    NOTHING,
    ON_AIR,
    SENSING,
    TABLE_LENGTH,
    TABLE_LOW_DB,
    TABLE_STEP_DB,
    TOO_WEAK,
    TRACED,
    World,
)


@compiled
def log_bit_ok(w: World, ratio: float) -> float:
    """Logarithm of the probability that one bit is right at this SINR."""
    place = (10.0 * math.log10(max(ratio, 1e-30)) - TABLE_LOW_DB) / TABLE_STEP_DB
    if place <= 0.0:
        return w.log_bit_ok[0]
    if place >= TABLE_LENGTH - 1:
        return w.log_bit_ok[TABLE_LENGTH - 1]
    low = int(place)
    return w.log_bit_ok[low] + (place - low) * (w.log_bit_ok[low + 1] - w.log_bit_ok[low])


@compiled
def sense(w: World, i: int) -> None:
    """Note for a node that is sensing whether the channel is busy now."""
    node = w.nodes[i]
    if node.sending != NOTHING or node.power_mw >= node.sensing_mw:
        node.sensed_busy = 1


@compiled
def judge_so_far(w: World, now_ns: int, j: int) -> None:
    """Count what the frame that holds node j met since it was judged last; call before powers change."""
    node = w.nodes[j]
    passed_ns = now_ns - node.judged_to_ns
    node.judged_to_ns = now_ns
    if passed_ns <= 0:
        return
    c = w.constants[0]
    signal_mw = w.now_mw[node.held_by, j]
    other_mw = max(node.power_mw - signal_mw, 0.0)
    ratio = signal_mw / (node.noise_mw + other_mw)
    if c.rule == 2:
        if ratio < c.clean:
            node.log_received += passed_ns * w.nodes[node.held_by].bits_per_ns * log_bit_ok(w, ratio)
    elif c.rule == 1:
        if ratio < c.threshold:
            node.spoilt = 1
    elif other_mw >= node.noise_mw or signal_mw < c.threshold * node.noise_mw:
        node.spoilt = 1


@compiled
def _hold(w: World, now_ns: int, i: int, j: int) -> None:
    node = w.nodes[j]
    node.held_by, node.held_since_ns, node.judged_to_ns = i, now_ns, now_ns
    node.log_received, node.spoilt = 0.0, 0


@compiled
def _arrive(w: World, now_ns: int, i: int, j: int, power_mw: float) -> None:
    """A frame of node i begins to arrive at node j."""
    node, c = w.nodes[j], w.constants[0]
    w.now_mw[i, j] = power_mw
    if node.held_by >= 0:
        judge_so_far(w, now_ns, j)
    others_mw = node.power_mw
    node.power_mw = others_mw + power_mw
    if node.state == SENSING:
        sense(w, j)
    if node.sending != NOTHING or power_mw < node.hold_mw:
        return
    if node.held_by < 0:
        _hold(w, now_ns, i, j)
    elif now_ns - node.held_since_ns < c.sync_ns:
        if power_mw > w.now_mw[node.held_by, j]:
            _hold(w, now_ns, i, j)
    elif c.takes_over and power_mw >= c.threshold * (node.noise_mw + others_mw):
        _hold(w, now_ns, i, j)


@compiled
def begin_frame(w: World, now_ns: int, i: int, octets: int, kind: int, slot: int, to: int) -> None:
    """Node i begins to send; an acknowledgement has no slot (-1)."""
    node, c = w.nodes[i], w.constants[0]
    air_ns = round((c.header_octets + octets) * c.octet_ns)
    node.sending, node.sent_slot, node.sent_to = kind, slot, to
    node.bits, node.bits_per_ns = 8.0 * octets, 8.0 * octets / air_ns
    node.held_by = -1  # a transmitter hears nothing
    if w.control[ON_AIR] == 0:
        w.control[BUSY_SINCE] = now_ns
    w.control[ON_AIR] += 1
    if c.warm_up_ns <= now_ns < c.end_ns:
        w.counts[i].air_ns += air_ns
        w.counts[i].sent += kind == DATA
    for j in range(len(w.nodes)):
        power_mw = w.mean_mw[i, j]
        if power_mw > 0.0:
            if c.fading and (node.fades or w.nodes[j].fades):
                power_mw *= exponential(w)
            _arrive(w, now_ns, i, j, power_mw)
    traced = w.control[TRACED]
    if traced < len(w.trace):
        line = w.trace[traced]
        line.start_ns, line.node, line.octets, line.kind = now_ns, i, octets, kind
        line.template = w.slots[slot].template if slot >= 0 else -1
        w.control[TRACED] = traced + 1
    push(w, now_ns + air_ns, FRAME_ENDS, i, max(traced, 0))


@compiled
def received_alone(w: World, i: int, j: int, chance: float) -> bool:
    """Whether node j would have received the frame of node i if nobody else had sent."""
    node, c = w.nodes[j], w.constants[0]
    ratio = w.now_mw[i, j] / node.noise_mw
    if c.rule != 2:
        return ratio >= c.threshold
    if w.now_mw[i, j] < node.hold_mw:
        return False
    return ratio >= c.clean or chance < math.exp(w.nodes[i].bits * log_bit_ok(w, ratio))


@compiled
def outcome_at(w: World, i: int, j: int) -> int:
    """NO_REASON if node j has received the frame of node i that ends now, else why not."""
    node, c = w.nodes[j], w.constants[0]
    chance = uniform(w) if c.rule == 2 else 0.0
    if node.held_by == i:
        if c.rule == 2:
            if node.log_received == 0.0 or chance < math.exp(node.log_received):
                return NO_REASON
        elif node.spoilt == 0:
            return NO_REASON
    return COLLISION if received_alone(w, i, j, chance) else TOO_WEAK


@compiled
def is_for(w: World, i: int, j: int) -> bool:
    """Whether the frame of node i is of any use to node j."""
    node = w.nodes[i]
    if node.sent_to == j:
        return True
    if node.sending != DATA:
        return False
    template = w.slots[node.sent_slot].template
    return w.repeats[template, j] != 0 or (node.sent_to < 0 and w.wanted[template, j] != 0)


@compiled
def end_frame(w: World, now_ns: int, i: int) -> None:
    """The frame of node i leaves the air; `outcomes` says for each node that it is for whether it was received."""
    for j in range(len(w.nodes)):
        power_mw = w.now_mw[i, j]
        w.outcomes[j] = TOO_WEAK
        if power_mw <= 0.0:
            continue
        node = w.nodes[j]
        if node.held_by >= 0:
            judge_so_far(w, now_ns, j)
        if is_for(w, i, j):
            w.outcomes[j] = outcome_at(w, i, j)
        if node.held_by == i:
            node.held_by = -1
        node.power_mw -= power_mw
        w.now_mw[i, j] = 0.0
    w.control[ON_AIR] -= 1
    if w.control[ON_AIR] == 0:
        c = w.constants[0]
        in_use_ns = min(now_ns, c.end_ns) - max(w.control[BUSY_SINCE], c.warm_up_ns)
        w.control[BUSY_NS] += max(in_use_ns, 0)
        _settle(w)


@compiled
def _settle(w: World) -> None:
    """Nobody sends: powers are those of the background exactly, free of rounding."""
    for j in range(len(w.nodes)):
        w.nodes[j].power_mw = 0.0
    for b in range(len(w.backgrounds)):
        if w.backgrounds[b].is_on:
            for j in range(len(w.nodes)):
                w.nodes[j].power_mw += w.background_mw[b, j]


@compiled
def turn_background(w: World, now_ns: int, b: int) -> float:
    """The background goes on or off; gives how long it stays so, in ns (infinite: for ever)."""
    background = w.backgrounds[b]
    sign = -1.0 if background.is_on else 1.0
    background.is_on = 1 - background.is_on
    for j in range(len(w.nodes)):
        node = w.nodes[j]
        if node.held_by >= 0:
            judge_so_far(w, now_ns, j)
        node.power_mw = max(node.power_mw + sign * w.background_mw[b, j], 0.0)
        if node.state == SENSING:
            sense(w, j)
    if w.control[ON_AIR] == 0:
        _settle(w)
    if background.is_on:
        return background.on_ns * exponential(w) if background.off_ns > 0.0 else math.inf
    return background.off_ns * exponential(w)
