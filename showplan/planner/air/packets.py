"""Packets of one frame: how many, how long on the air, how long with everything around them."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from showplan import reference
from showplan.physics.air_time import frame_air_time_ms
from showplan.physics.channel_access import longest_access_ms, mean_access_ms
from showplan.physics.mac_frames import FCS_OCTETS, mac_header_octets, payload_limit_octets
from showplan.planner.phys import phy_of
from showplan.planner.scene import Network, Scene
from showplan.planner.scene_show import Timeline
from showplan.planner.scene_traffic import Traffic
from showplan.planner.timelines import Changes

SHORT_OCTETS, EXTENDED_OCTETS = 2, 8
AUXILIARY_OCTETS = 5  # security header without a key identifier
MIC_OCTETS = {"none": 0, "mic-32": 4, "mic-64": 8, "mic-128": 16}
LONGEST_SHORT_FRAME_OCTETS = 18  # a frame up to this is followed by the short gap
ROUNDING = 1e-9  # a share of the levels that is a whole number must stay one


@dataclass(frozen=True)
class Burst:
    """The packets of one group of nodes in one frame, each sent once: count, air time, and time waiting included."""

    packets: float = 0.0
    octets: float = 0.0
    air_ms: float = 0.0
    exchange_ms: float = 0.0

    def mixed(self, other: "Burst", share: float) -> "Burst":
        """The mean of this and another burst that comes in `share` of the frames."""
        keep = 1 - share
        return Burst(
            keep * self.packets + share * other.packets,
            keep * self.octets + share * other.octets,
            keep * self.air_ms + share * other.air_ms,
            keep * self.exchange_ms + share * other.exchange_ms,
        )


@dataclass(frozen=True)
class Coded:
    """Octets of levels in a group's frame: `complete_octets` in `complete_share` of the frames, else `usual_octets`."""

    usual_octets: int
    complete_octets: int
    complete_share: float


@dataclass(frozen=True)
class Packets:
    """How a network's packets are built: its PHY, its way of sending, and the timeline that tells what changes."""

    phy: reference.Phy
    traffic: Traffic
    timeline: Timeline | None = None

    @cached_property
    def overhead_octets(self) -> int:
        """Octets of a MAC frame besides the levels."""
        traffic = self.traffic
        source = EXTENDED_OCTETS if traffic.addresses == "extended" else SHORT_OCTETS
        # A packet for several nodes goes to a short broadcast address even where nodes have extended ones.
        destination = source if traffic.addressing == "each" else SHORT_OCTETS
        security = MIC_OCTETS[traffic.security]
        if security:
            security += AUXILIARY_OCTETS
        return int(mac_header_octets(destination, source)) + security + FCS_OCTETS + traffic.header_octets

    @cached_property
    def levels(self) -> int:
        """Levels that one packet holds; zero or less: no packet holds any."""
        return int(payload_limit_octets(self.phy.longest_frame_octets, self.overhead_octets, 0, 0))

    @cached_property
    def access_ms(self) -> float:
        """Mean time until a packet starts on an idle channel."""
        phy, traffic = self.phy, self.traffic
        return float(mean_access_ms(traffic.min_be, phy.backoff_unit_us, phy.sensing_us, phy.turnaround_us))

    @cached_property
    def longest_access_ms(self) -> float:
        """The longest that one access may take."""
        t = self.traffic
        unit_us, sensing_us = self.phy.backoff_unit_us, self.phy.sensing_us
        return float(longest_access_ms(t.min_be, t.max_be, t.max_backoffs, unit_us, sensing_us))

    @cached_property
    def acknowledgement_air_ms(self) -> float:
        """Air time of an acknowledgement."""
        return self.air_ms(reference.ACKNOWLEDGEMENT_OCTETS)

    @cached_property
    def acknowledgement_ms(self) -> float:
        """What an acknowledgement adds to an exchange: turnaround and air time."""
        return self.phy.turnaround_us / 1000 + self.acknowledgement_air_ms

    @cached_property
    def failure_ms(self) -> float:
        """What waiting in vain for an acknowledgement adds to an exchange."""
        return self.phy.acknowledgement_wait_us / 1000

    def air_ms(self, psdu_octets: float) -> float:
        """Air time of a MAC frame."""
        return float(frame_air_time_ms(psdu_octets, self.phy.bit_rate_kbps, self.phy.header_octets))

    def exchange_ms(self, psdu_octets: float) -> float:
        """Time of one packet without acknowledgement: mean access, air time and the gap after it."""
        is_short = psdu_octets <= LONGEST_SHORT_FRAME_OCTETS
        gap_us = self.phy.short_gap_us if is_short else self.phy.long_gap_us
        return self.access_ms + self.air_ms(psdu_octets) + gap_us / 1000

    def changes(self, slots: Iterable[object]) -> Changes:
        """What share of these slots changes in a frame: by the timeline, or always the share that was entered.

        An output without a slot of its own stands in no timeline.
        """
        numbered = frozenset(slot for slot in slots if isinstance(slot, int))
        if self.timeline is None or not numbered:
            share = self.traffic.changed_share
            return Changes(share, share, share)
        return self.timeline.changes(numbered, self.traffic.refresh_hz)

    def coded(self, levels: int, changed_share: float) -> Coded:
        """What a frame carries of so many levels, by the coding: all of them, or those that changed."""
        # One bit a slot says which levels follow.
        changed = -(-levels // 8) + math.ceil(changed_share * levels - ROUNDING)
        if self.traffic.coding == "full" or changed >= levels:
            return Coded(levels, levels, 1.0)
        return Coded(changed, levels, min(1.0, 1 / (self.traffic.keep_alive_s * self.traffic.refresh_hz)))

    def burst(self, levels: int, changed_share: float) -> Burst:
        """The mean burst that carries these levels, of which this share changes in a frame."""
        coded = self.coded(levels, changed_share)
        return self.full_burst(coded.usual_octets).mixed(self.full_burst(levels), coded.complete_share)

    def psdus(self, octets: int) -> list[int]:
        """Octets of the MAC frames that carry so many octets of levels, packed one after the other."""
        if self.levels <= 0:
            return []
        whole, rest = divmod(octets, self.levels)
        return [part + self.overhead_octets for part in [self.levels] * whole + [rest] * bool(rest)]

    def full_burst(self, octets: int) -> Burst:
        """The burst that carries so many octets of levels."""
        sizes = self.psdus(octets)
        return Burst(
            packets=float(len(sizes)),
            octets=float(sum(sizes)),
            air_ms=sum(self.air_ms(size) for size in sizes),
            exchange_ms=sum(self.exchange_ms(size) for size in sizes),
        )

    def sustained_octets_per_s(self) -> float:
        """Octets a second that one sender forwards in the longest packets, without a header of the show's own."""
        payload = self.levels + self.traffic.header_octets
        return 1000 * payload / self.exchange_ms(self.phy.longest_frame_octets) if payload > 0 else 0.0


def packets_of(scene: Scene, network: Network, traffic: Traffic | None = None) -> Packets:
    """The packets of a network, sent in its own way or the given one."""
    way = traffic or scene.traffic(network.name)
    name = way.timeline if way.coding == "changes" else None
    return Packets(phy_of(scene, network.phy), way, None if name is None else scene.timeline(name))
