"""Compiled: the loop over the events, sources, and what a node does with a packet that it has received."""

from showplan.planner.simulation.compiled import compiled
from showplan.planner.simulation.events import exponential, push, take_first, uniform
from showplan.planner.simulation.on_air import end_frame, is_for, turn_background
from showplan.planner.simulation.packets import deliver, make_packet, release
from showplan.planner.simulation.sending import (
    ack_is_late,
    after_frame,
    end_sensing,
    enqueue,
    gap_ends,
    start_ack,
    start_frame,
    start_sensing,
    succeed,
)
from showplan.planner.simulation.world import (
    ACK_IS_LATE,
    ACK_STARTS,
    AWAITING_ACK,
    BACKGROUND_TURNS,
    BACKOFF_ENDS,
    DATA,
    DONE,
    EVENTS,
    FRAME_ENDS,
    FRAME_STARTS,
    GAP_ENDS,
    HEAP_SIZE,
    NO_REASON,
    NOTHING,
    NOW,
    OVERFLOWN,
    PACKETS_ARISE,
    PASSED_ON,
    PASSING_ON_IS_DUE,
    SENSING_ENDS,
    STOP,
    STOPPED,
    TOO_SMALL,
    UNDER_WAY,
    World,
)

LOOK_UP_EVERY = 4096  # events


@compiled
def run(w: World) -> int:
    """Simulate to the end: DONE; STOPPED where `control[STOP]` was set meanwhile; TOO_SMALL where room ran out."""
    _begin(w)
    end_ns = w.constants[0].end_ns
    while w.control[HEAP_SIZE] > 0:
        key, payload = take_first(w)
        now_ns = key >> 4
        if now_ns >= end_ns and w.control[UNDER_WAY] == 0:
            break
        _happen(w, now_ns, key & 15, payload >> 32, payload & 0xFFFFFFFF)
        w.control[EVENTS] += 1
        if w.control[EVENTS] % LOOK_UP_EVERY == 0:
            w.control[NOW] = now_ns
            if w.control[STOP]:
                return STOPPED
        if w.control[OVERFLOWN]:
            return TOO_SMALL
    w.control[NOW] = end_ns
    return DONE


@compiled
def _begin(w: World) -> None:
    """First packets of every source; the background as if it had gone on for long."""
    for b in range(len(w.backgrounds)):
        background = w.backgrounds[b]
        is_on = uniform(w) * (background.on_ns + background.off_ns) < background.on_ns
        background.is_on = 0 if is_on else 1  # turned at once
        push(w, 0, BACKGROUND_TURNS, b, 0)
        if not is_on:
            for j in range(len(w.nodes)):
                w.nodes[j].power_mw += w.background_mw[b, j]
    for s in range(len(w.sources)):
        source = w.sources[s]
        wait_ns = source.next_ns
        if wait_ns < 0:
            wait_ns = int(source.gap_ns * (uniform(w) if source.kind == 0 else exponential(w)))
            # "The backoff periods of one device are not related in time to those of any other" (IEEE 802.15.4-2006,
            # clause 7.5.1.4, unslotted; quoted from memory): busy nodes must not start in step.
            wait_ns += int(w.constants[0].unit_backoff_ns * 32 * uniform(w))
        push(w, wait_ns, PACKETS_ARISE, s, 0)


@compiled
def _happen(w: World, now_ns: int, kind: int, what: int, argument: int) -> None:
    if kind == BACKOFF_ENDS:
        start_sensing(w, now_ns, what)
    elif kind == SENSING_ENDS:
        end_sensing(w, now_ns, what)
    elif kind == FRAME_STARTS:
        start_frame(w, now_ns, what)
    elif kind == FRAME_ENDS:
        _frame_ends(w, now_ns, what, argument)
    elif kind == ACK_STARTS:
        start_ack(w, now_ns, what)
    elif kind == ACK_IS_LATE:
        ack_is_late(w, now_ns, what, argument)
    elif kind == GAP_ENDS:
        gap_ends(w, now_ns, what)
    elif kind == PACKETS_ARISE:
        _packets_arise(w, now_ns, what)
    elif kind == PASSING_ON_IS_DUE:
        _pass_on(w, now_ns, what, argument)
    else:
        _background_turns(w, now_ns, what)


@compiled
def _frame_ends(w: World, now_ns: int, i: int, traced: int) -> None:
    node = w.nodes[i]
    end_frame(w, now_ns, i)
    was_data, number, to = node.sending == DATA, node.sent_slot, node.sent_to
    heard_by = 0
    for j in range(len(w.nodes)):
        if w.outcomes[j] == NO_REASON:
            heard_by += 1
            if was_data:
                _take(w, now_ns, i, j, number, to)
            elif w.nodes[j].state == AWAITING_ACK and w.queues[j, w.nodes[j].queue_first].to == i:
                succeed(w, now_ns, j)
        elif was_data and w.in_reach[i, j] and is_for(w, i, j):
            w.reasons[number, j] = w.outcomes[j]
    node.sending = NOTHING
    if traced < len(w.trace):
        w.trace[traced].heard_by = heard_by
    if was_data:
        after_frame(w, now_ns, i)


@compiled
def _take(w: World, now_ns: int, i: int, j: int, number: int, to: int) -> None:
    """Node j has received the packet from node i."""
    slot, node = w.slots[number], w.nodes[j]
    template = w.templates[slot.template]
    deliver(w, now_ns, number, j)
    wait_ns = 0
    if to == j and w.queues[i, w.nodes[i].queue_first].acknowledged:
        c = w.constants[0]
        node.ack_due, node.ack_to = 1, i
        push(w, now_ns + c.turnaround_ns, ACK_STARTS, j, 0)
        wait_ns = c.turnaround_ns + round((c.header_octets + c.ack_octets) * c.octet_ns)
    if w.marks[number, j] & PASSED_ON:
        return
    if w.repeats[slot.template, j]:
        wait_ns += int(w.constants[0].jitter_ns * uniform(w))
    elif to != j or template.destination == j or w.next_hop[j, template.destination] < 0:
        return
    w.marks[number, j] |= PASSED_ON
    slot.uses += 1
    push(w, now_ns + wait_ns, PASSING_ON_IS_DUE, j, number)


@compiled
def _pass_on(w: World, now_ns: int, j: int, number: int) -> None:
    """A relay takes the packet into its queue: for everybody, or for the next node on its way."""
    row = w.slots[number].template
    if w.repeats[row, j]:
        enqueue(w, now_ns, j, number, -1, 0, 0)
    else:
        template = w.templates[row]
        enqueue(w, now_ns, j, number, w.next_hop[j, template.destination], template.acknowledged, 0)


@compiled
def _packets_arise(w: World, now_ns: int, s: int) -> None:
    """One frame's packets of a source, into its node's queue."""
    source = w.sources[s]
    if now_ns >= w.constants[0].end_ns:
        return
    for row in range(source.first, source.last):
        number = make_packet(w, now_ns, row)
        if number < 0:
            return
        template = w.templates[row]
        to = -1
        if template.destination >= 0:
            to = w.next_hop[template.sender, template.destination]
        w.slots[number].uses = 1  # for this function
        for i in range(len(w.nodes)):
            if w.origins[row, i] == 0:
                continue
            w.marks[number, i] |= PASSED_ON
            if template.destination >= 0 and to < 0:  # no way to go
                continue
            w.slots[number].uses += template.copies
            for copy in range(template.copies):
                is_last = i == template.sender and copy == template.copies - 1
                enqueue(w, now_ns, i, number, to, template.acknowledged, 1 if is_last else 0)
        release(w, number)
    if source.kind == 0:
        push(w, now_ns + round(source.gap_ns), PACKETS_ARISE, s, 0)
    elif source.kind == 1:
        push(w, now_ns + int(source.gap_ns * exponential(w)), PACKETS_ARISE, s, 0)


@compiled
def _background_turns(w: World, now_ns: int, b: int) -> None:
    stays_ns = turn_background(w, now_ns, b)
    if stays_ns < 1e18:
        push(w, now_ns + int(stays_ns), BACKGROUND_TURNS, b, 0)
