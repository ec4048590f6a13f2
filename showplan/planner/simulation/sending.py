"""Compiled: medium access of a node, from its queue to the acknowledgement."""

from showplan.planner.simulation.compiled import compiled
from showplan.planner.simulation.events import below_power_of_two, exponential, push
from showplan.planner.simulation.on_air import begin_frame, sense
from showplan.planner.simulation.packets import blame_all, release
from showplan.planner.simulation.world import (
    ACK,
    ACK_IS_LATE,
    AWAITING_ACK,
    BACKING_OFF,
    BACKOFF_ENDS,
    DATA,
    FRAME_STARTS,
    GAP_ENDS,
    IDLE,
    NO_ACCESS,
    NO_REASON,
    NOTHING,
    PACKETS_ARISE,
    PAUSING,
    QUEUE_FULL,
    SENDING,
    SENSING,
    SENSING_ENDS,
    TURNING,
    World,
)


@compiled
def enqueue(w: World, now_ns: int, i: int, number: int, to: int, acknowledged: int, last: int) -> None:
    """Let the packet wait in node i; it must have been counted in `uses` already. A full queue refuses it."""
    node = w.nodes[i]
    room = node.room
    if node.queue_length == room:
        if w.origins[w.slots[number].template, i]:
            blame_all(w, number, QUEUE_FULL)
        if last:
            _source_goes_on(w, now_ns, number, w.constants[0].long_gap_ns)
        release(w, number)
        return
    waiting = w.queues[i, (node.queue_first + node.queue_length) % room]
    waiting.slot, waiting.to, waiting.acknowledged, waiting.last = number, to, acknowledged, last
    node.queue_length += 1
    if node.state == IDLE:
        _send_next(w, now_ns, i)


@compiled
def _send_next(w: World, now_ns: int, i: int) -> None:
    node = w.nodes[i]
    if node.queue_length == 0:
        node.state = IDLE
        return
    node.tries, node.begun_ns = 0, now_ns
    _seek_access(w, now_ns, i)


@compiled
def _seek_access(w: World, now_ns: int, i: int) -> None:
    node = w.nodes[i]
    node.busy_counts, node.be = 0, w.constants[0].min_be
    _back_off(w, now_ns, i)


@compiled
def _back_off(w: World, now_ns: int, i: int) -> None:
    node = w.nodes[i]
    node.state = BACKING_OFF
    push(w, now_ns + below_power_of_two(w, node.be) * w.constants[0].unit_backoff_ns, BACKOFF_ENDS, i, 0)


@compiled
def start_sensing(w: World, now_ns: int, i: int) -> None:
    """The backoff is over."""
    node, c = w.nodes[i], w.constants[0]
    node.state, node.sensed_busy = SENSING, 0
    sense(w, i)
    push(w, now_ns + c.sensing_ns, SENSING_ENDS, i, 0)


@compiled
def end_sensing(w: World, now_ns: int, i: int) -> None:
    """Turn round to send, or back off again."""
    node, c = w.nodes[i], w.constants[0]
    if c.warm_up_ns <= now_ns < c.end_ns:
        w.counts[i].sensed += 1
        w.counts[i].sensed_busy += node.sensed_busy
    if node.sensed_busy or node.ack_due or node.sending != NOTHING:
        _found_busy(w, now_ns, i)
        return
    node.state = TURNING
    push(w, now_ns + c.turnaround_ns, FRAME_STARTS, i, 0)


@compiled
def _found_busy(w: World, now_ns: int, i: int) -> None:
    node, c = w.nodes[i], w.constants[0]
    node.busy_counts += 1
    node.be = min(node.be + 1, c.max_be)
    if node.busy_counts > c.max_backoffs:
        number = w.queues[i, node.queue_first].slot
        if w.origins[w.slots[number].template, i]:
            blame_all(w, number, NO_ACCESS)
        w.counts[i].no_access += w.slots[number].counted
        _finish(w, now_ns, i, 0)  # nothing was sent: no gap to keep
    else:
        _back_off(w, now_ns, i)


@compiled
def start_frame(w: World, now_ns: int, i: int) -> None:
    """Send the packet at the head of the queue."""
    node = w.nodes[i]
    if node.sending != NOTHING or node.ack_due:
        _found_busy(w, now_ns, i)
        return
    waiting = w.queues[i, node.queue_first]
    node.state = SENDING
    octets = w.templates[w.slots[waiting.slot].template].octets
    begin_frame(w, now_ns, i, octets, DATA, waiting.slot, waiting.to)


@compiled
def start_ack(w: World, now_ns: int, i: int) -> None:
    """Answer the frame received one turnaround ago."""
    node = w.nodes[i]
    node.ack_due = 0
    if node.sending == NOTHING:
        begin_frame(w, now_ns, i, w.constants[0].ack_octets, ACK, -1, node.ack_to)


@compiled
def after_frame(w: World, now_ns: int, i: int) -> None:
    """The data frame of node i has ended: wait for its acknowledgement, or it is done."""
    node, c = w.nodes[i], w.constants[0]
    waiting = w.queues[i, node.queue_first]
    if waiting.to >= 0 and w.outcomes[waiting.to] != NO_REASON:
        w.counts[i].failed += c.warm_up_ns <= now_ns < c.end_ns
    if waiting.acknowledged:
        node.state = AWAITING_ACK
        node.token = (node.token + 1) & 0x3FFFFFFF
        push(w, now_ns + c.ack_wait_ns, ACK_IS_LATE, i, node.token)
    else:
        succeed(w, now_ns, i)


@compiled
def succeed(w: World, now_ns: int, i: int) -> None:
    """The packet has been sent, and acknowledged where that was asked for."""
    node = w.nodes[i]
    slot = w.slots[w.queues[i, node.queue_first].slot]
    if slot.counted:
        w.counts[i].served += 1
        w.counts[i].service_ns += now_ns - node.begun_ns
    _finish(w, now_ns, i, _gap_ns(w, i))


@compiled
def ack_is_late(w: World, now_ns: int, i: int, token: int) -> None:
    """Try again, or give the packet up; nothing if the acknowledgement has come."""
    node = w.nodes[i]
    if node.state != AWAITING_ACK or node.token != token:
        return
    node.tries += 1
    if node.tries <= w.constants[0].retries:
        _seek_access(w, now_ns, i)
        return
    w.counts[i].no_ack += w.slots[w.queues[i, node.queue_first].slot].counted
    # The gap counts from the end of the frame: most or all of it went by in waiting.
    _finish(w, now_ns, i, max(_gap_ns(w, i) - w.constants[0].ack_wait_ns, 0))


@compiled
def gap_ends(w: World, now_ns: int, i: int) -> None:
    """The node may send again."""
    _send_next(w, now_ns, i)


@compiled
def _gap_ns(w: World, i: int) -> int:
    """The gap after the packet at the head of the queue."""
    c = w.constants[0]
    is_short = w.templates[w.slots[w.queues[i, w.nodes[i].queue_first].slot].template].octets <= c.short_frame_octets
    return c.short_gap_ns if is_short else c.long_gap_ns


@compiled
def _finish(w: World, now_ns: int, i: int, gap_ns: int) -> None:
    """The packet at the head of the queue leaves the node, however it went; the next waits for the gap."""
    node = w.nodes[i]
    waiting = w.queues[i, node.queue_first]
    number, last = waiting.slot, waiting.last
    node.queue_first = (node.queue_first + 1) % node.room
    node.queue_length -= 1
    node.state = PAUSING
    push(w, now_ns + gap_ns, GAP_ENDS, i, 0)
    if last:
        _source_goes_on(w, now_ns, number, 0)
    release(w, number)


@compiled
def _source_goes_on(w: World, now_ns: int, number: int, least_ns: int) -> None:
    """A source that waits for the end of its packet makes the next one."""
    source_number = w.templates[w.slots[number].template].source
    source = w.sources[source_number]
    if source.kind == 2:
        rest_ns = max(source.rest_ns, least_ns)
        push(w, now_ns + max(int(source.gap_ns * exponential(w)), rest_ns), PACKETS_ARISE, source_number, 0)
