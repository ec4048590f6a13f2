"""The air of every network of a venue, put together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from showplan.physics.contention import LEAST_RATE_PER_S, Access, Contention
from showplan.physics.waiting import longest_stale_s, lost_runs_per_s, radio_energy_mj
from showplan.planner.air.delivering import deliveries, relays_clear
from showplan.planner.air.feed import FeedTimes, feed_times
from showplan.planner.air.limits import BOUNDLESS_HZ, rate_limits, sending_limits
from showplan.planner.air.occupancy import Traffics, beside, taken_share
from showplan.planner.air.packets import Packets, packets_of
from showplan.planner.air.radio import Radio, radio_of
from showplan.planner.air.results import NetworkAir, NodeAir, RateLimit, TimelineLoad, TimePart
from showplan.planner.air.sending import Sending, sending_of
from showplan.planner.air.slots import usual_feed
from showplan.planner.air.timing import latency_of, parts_to
from showplan.planner.links import NetworkLinks
from showplan.planner.obstacles import HouseState
from showplan.planner.routes import Route
from showplan.planner.scene import Scene
from showplan.planner.scene_traffic import Feed, Traffic

Floats = NDArray[np.float64]
SHOW_HOUR_S = 3600.0
TRANSMIT_MA = 20.0  # of a common 250 kbit/s node; published energy model
SUPPLY_V = 3.3
MOST_LOSS = 0.999999
LEAST_PAUSE_MS = 0.01


def air_of(
    scene: Scene,
    links: Mapping[str, NetworkLinks],
    routes: Mapping[str, Mapping[str, Route]],
    state: HouseState = "empty",
) -> dict[str, NetworkAir]:
    """The air of each network with links, by name. Networks on one radio channel count in each other's load."""
    radios = {
        name: radio_of(scene, scene.network(name), links[name], routes[name]) for name in links if links[name].labels
    }
    drafts = {name: Draft.of(radio, state) for name, radio in radios.items()}
    every = [draft.traffics() for draft in drafts.values()]
    return {name: draft.finished(beside(draft.traffics(), every)) for name, draft in drafts.items()}


@dataclass(frozen=True)
class Draft:
    """One network by itself: what it sends for a frame and, without the others on its channel, what holds it down."""

    radio: Radio
    packets: Packets
    feed: Feed
    times: FeedTimes
    sending: Sending
    taken: float
    region: Floats

    @classmethod
    def of(cls, radio: Radio, state: HouseState, traffic: Traffic | None = None, feed: Feed | None = None) -> "Draft":
        """The draft of a network, with its own way of sending and feed or with the given ones."""
        name = radio.network.name
        entered = feed or radio.scene.feed(name) or usual_feed(radio.network, radio.use)
        packets = packets_of(radio.scene, radio.network, traffic)
        region, _ = sending_limits(radio)
        taken = taken_share(radio, state)
        return cls(radio, packets, entered, feed_times(entered), sending_of(radio, packets), taken, region)

    def limits(self, others: float = 0.0) -> tuple[RateLimit, ...]:
        """The limits, the tightest first; `others`: share of the time that other networks take of the channel."""
        occupied = np.full(len(self.radio.links.labels), 1 - (1 - self.taken) * (1 - min(others, 1.0)))
        return rate_limits(self.radio, self.packets, self.sending, self.feed, self.times, occupied, self.region)

    def sent_hz(self, limits: Sequence[RateLimit]) -> float:
        """Frames a second that go out."""
        return min(self.packets.traffic.refresh_hz, limits[0].hz if self.radio.use.by_node else BOUNDLESS_HZ)

    def traffics(self, sent_hz: float | None = None) -> Traffics:
        """What the network brings to its radio channel."""
        hz = self.sent_hz(self.limits()) if sent_hz is None else sent_hz
        phy, sending = self.radio.phy, self.sending
        half_mhz, centre_mhz = phy.occupied_bandwidth_mhz / 2, self.radio.links.frequency_mhz
        total_ms = float((sending.air_ms + sending.answer_ms).sum())
        return Traffics(
            network=self.radio.network.name,
            low_mhz=centre_mhz - half_mhz,
            high_mhz=centre_mhz + half_mhz,
            senders=int(np.count_nonzero(sending.packets)),
            packets_per_s=hz * float(sending.packets.sum()),
            utilisation=hz * total_ms / 1000,
        )

    def finished(self, others: Sequence[Traffics] = ()) -> NetworkAir:
        """The network with the others on its radio channel."""
        used_by_others = sum(other.utilisation for other in others)
        limits = self.limits(used_by_others)
        sent_hz = self.sent_hz(limits)
        own = self.traffics(sent_hz)
        contention = self._contention(own, others)
        delivery = deliveries(self.radio, self.packets, self.sending, contention)
        nodes = self._nodes(sent_hz, used_by_others, contention, delivery)
        cycle_ms = self.sending.channel_ms @ self.radio.hears
        traffic, radio = self.packets.traffic, self.radio
        total_ms = float((self.sending.air_ms + self.sending.answer_ms).sum())
        clear = relays_clear(radio, self.packets, self.sending.mean_air_ms)
        return NetworkAir(
            network=radio.network.name,
            phy=radio.phy.name,
            traffic=traffic,
            feed=self.feed,
            is_traffic_entered=any(one.network == radio.network.name for one in radio.scene.traffics),
            is_feed_entered=radio.scene.feed(radio.network.name) is not None,
            slots=len(radio.use.used),
            packets=sum(group.mean.packets for group in self.sending.groups),
            packet_levels=max(self.packets.levels, 0),
            air_time_ms=total_ms,
            cycle_ms=float(cycle_ms.max(initial=0.0)),
            wanted_hz=traffic.refresh_hz,
            refresh_hz=limits[0].hz,
            sent_hz=sent_hz,
            limit=limits[0],
            limits=limits,
            utilisation=own.utilisation,
            channel_utilisation=own.utilisation + used_by_others,
            contention=contention,
            stream_octets_per_s=self.times.octets_per_s,
            sustained_octets_per_s=self.packets.sustained_octets_per_s(),
            hidden_relays=self._hidden_relays(),
            relay_clear=float(clear[radio.hears].min(initial=1.0)),
            energy_mj=float(radio_energy_mj(TRANSMIT_MA, SUPPLY_V, total_ms)),
            nodes=nodes,
            where_the_time_goes=_latest(nodes),
            timeline=self._timeline(sent_hz),
        )

    def _timeline(self, sent_hz: float) -> TimelineLoad | None:
        """What the timeline makes of the load; None without one."""
        timeline, used = self.packets.timeline, self.radio.use.used
        if timeline is None:
            return None
        mean = sending_of(self.radio, self.packets, over_show=True)
        air_ms = float((mean.air_ms + mean.answer_ms).sum())
        return TimelineLoad(
            timeline=timeline.name,
            slots=len(timeline.slots & used),
            changes=self.packets.changes(used),
            mean_packets=sum(group.mean.packets for group in mean.groups),
            mean_air_time_ms=air_ms,
            mean_utilisation=sent_hz * air_ms / 1000,
        )

    def _contention(self, own: Traffics, others: Sequence[Traffics]) -> Contention:
        """All senders on the radio channel as equal contenders; what is already there makes looks busy besides."""
        senders = max(own.senders + sum(other.senders for other in others), 1)
        packets_per_s = own.packets_per_s + sum(other.packets_per_s for other in others)
        traffic, phy = self.packets.traffic, self.radio.phy
        access = Access(
            phy.turnaround_us,
            phy.sensing_us,
            phy.backoff_unit_us,
            traffic.min_be,
            traffic.max_be,
            traffic.max_backoffs,
        )
        answer_ms = self.packets.acknowledgement_air_ms if traffic.acknowledged else 0.0
        air_ms = max(self.sending.mean_air_ms, 1e-6)
        # The model pauses after each packet; the packets' own time is taken off, so that the rate comes out right.
        pause_ms = 1000 * senders / max(packets_per_s, LEAST_RATE_PER_S) - self.packets.access_ms - air_ms - answer_ms
        # Retries stand in the packets sent already.
        found = Contention.of(senders, 1000 / max(pause_ms, LEAST_PAUSE_MS), air_ms, answer_ms, 0, access)
        if not self.taken:
            return found
        busy = 1 - (1 - found.busy_share) * (1 - self.taken)
        return replace(found, busy_share=busy, access_failure=busy ** (traffic.max_backoffs + 1))

    def _hidden_relays(self) -> tuple[tuple[str, str], ...]:
        """Pairs of relays that do not hear each other."""
        radio = self.radio
        relays = [int(i) for i in np.nonzero(radio.is_relay)[0]]
        labels = radio.links.labels
        return tuple(
            (labels[a], labels[b])
            for position, a in enumerate(relays)
            for b in relays[position + 1 :]
            if not (radio.senses[a, b] and radio.senses[b, a])
        )

    def _nodes(self, sent_hz: float, others: float, contention: Contention, delivery: Floats) -> tuple[NodeAir, ...]:
        radio, sending = self.radio, self.sending
        own_ms = sending.air_ms + sending.answer_ms
        # An answer is heard, for all that is known, wherever the packet is.
        heard_ms = (sending.air_ms + sending.answered_ms) @ radio.hears
        not_others = (1 - min(others, 1.0)) * (1 - self.taken)
        free = (1 - np.minimum(sent_hz * heard_ms / 1000, 1)) * not_others
        overheard = np.minimum(np.maximum(sent_hz * (heard_ms - own_ms) / 1000, 0), 1)
        parts = self._parts(sent_hz, contention)
        found = []
        for i, node in enumerate(radio.nodes):
            loss = min(1 - float(delivery[i]), MOST_LOSS)
            arrives = sent_hz > 0 and delivery[i] > 0
            route = radio.routes.get(node.label)
            buffer_octets, needed = self._buffer(i)
            found.append(
                NodeAir(
                    label=node.label,
                    role=node.role,
                    slots=len(radio.use.by_node.get(node.label, ())),
                    packets_per_s=sent_hz * float(sending.packets[i]),
                    sending_share=sent_hz * float(own_ms[i]) / 1000,
                    sending_limit=float(self.region[i]),
                    channel_load=1 - float(free[i]),
                    overheard_share=float(overheard[i]),
                    others_share=1 - not_others,
                    delivery=float(delivery[i]),
                    hops=route.hops if route else None,
                    latency=latency_of(parts.get(node.label, ())),
                    parts=parts.get(node.label, ()),
                    longest_stale_s=float(longest_stale_s(loss, sent_hz, SHOW_HOUR_S)) if arrives else None,
                    signal_losses_per_hour=self._signal_losses(loss, sent_hz, node.signal_lost_after_s),
                    buffer_octets=buffer_octets,
                    buffer_needed_octets=needed,
                )
            )
        return tuple(found)

    @staticmethod
    def _signal_losses(loss: float, sent_hz: float, after_s: float) -> float:
        run = max(int(np.ceil(after_s * sent_hz - 1e-9)), 1)
        return SHOW_HOUR_S * float(lost_runs_per_s(loss, sent_hz, run)) if sent_hz > 0 else 0.0

    def _buffer(self, i: int) -> tuple[int, float]:
        """The buffer of a node and what it must hold: the feed's or the frame's octets during the longest access."""
        if self.radio.is_gateway[i]:
            return self.feed.buffer_octets, self.times.waiting_octets(self.packets.longest_access_ms)
        longest = max((group.full.octets / max(group.full.packets, 1) for group in self.sending.groups), default=0.0)
        if self.sending.packets[i] == 0:
            return self.packets.traffic.node_buffer_octets, longest
        on_air = 1000 * self.radio.phy.bit_rate_kbps / 8 * self.packets.longest_access_ms / 1000
        return self.packets.traffic.node_buffer_octets, min(self.sending.octets, max(on_air, longest))

    def _parts(self, sent_hz: float, contention: Contention) -> dict[str, tuple[TimePart, ...]]:
        """The parts of the way to each node that uses slots; groups go out in their order."""
        found: dict[str, tuple[TimePart, ...]] = {}
        ahead_ms = dict.fromkeys(range(len(self.radio.nodes)), 0.0)
        feed = (self.feed, self.times)
        for group in self.sending.groups:
            first = next((i for i in group.senders if self.radio.is_gateway[i]), 0)
            for label in group.labels:
                found[label] = parts_to(
                    self.radio, self.packets, feed, group, ahead_ms[first], contention, sent_hz, label
                )
            for sender in group.senders:
                ahead_ms[sender] += self.packets.traffic.copies * group.full.exchange_ms
        return found


def _latest(nodes: Sequence[NodeAir]) -> tuple[TimePart, ...]:
    """The parts of the way to the node that is served last."""
    timed = [(node.latency.p95_ms, node.label, node.parts) for node in nodes if node.latency is not None]
    return max(timed, key=lambda one: one[:2])[2] if timed else ()
