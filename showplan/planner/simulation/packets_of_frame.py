"""The packets in which one frame of the show goes out, packed as the air planner packs them: who wants each."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from showplan.planner.air.packets import Packets
from showplan.planner.air.slots import SlotUse, groups_of
from showplan.planner.scene import Node


class NothingFits(ValueError):
    """The headers leave no octet for the show."""


@dataclass(frozen=True)
class FramePacket:
    """One packet of a frame: the nodes whose levels it carries, and the octets of its MAC frame, check sum included."""

    nodes: tuple[str, ...]
    psdu_octets: int


@dataclass(frozen=True)
class GroupFrame:
    """What nodes that share packets are sent: `complete` in `complete_share` of the frames, `usual` in the others."""

    labels: tuple[str, ...]
    usual: tuple[FramePacket, ...]
    complete: tuple[FramePacket, ...]
    complete_share: float


def frames_of_groups(nodes: Sequence[Node], use: SlotUse, packets: Packets) -> list[GroupFrame]:
    """What goes out for one frame, group by group in order of address; of a timeline, in its busiest second.

    Raises NothingFits.
    """
    if packets.levels < 1:
        longest = int(packets.phy.longest_frame_octets)
        raise NothingFits(f"headers take {packets.overhead_octets} octets of {longest}: none is left for the show")
    return [_frame(labels, use, packets) for labels in groups_of(packets.traffic, nodes, use)]


def _frame(labels: tuple[str, ...], use: SlotUse, packets: Packets) -> GroupFrame:
    slots: list[Any] = sorted(use.slots_of(labels))
    coded = packets.coded(len(slots), packets.changes(slots).peak)
    usual, complete = (
        _packed(labels, use, slots, packets, octets) for octets in (coded.usual_octets, coded.complete_octets)
    )
    return GroupFrame(labels, usual, complete, coded.complete_share)


def _packed(
    labels: Sequence[str], use: SlotUse, slots: Sequence[Any], packets: Packets, octets: int
) -> tuple[FramePacket, ...]:
    """So many octets, spread evenly over the slots, one packet after the other."""
    found, start = [], 0
    for psdu_octets in packets.psdus(octets):
        end = start + psdu_octets - packets.overhead_octets
        inside = {slots[octet * len(slots) // octets] for octet in range(start, end)}
        wanted_by = tuple(label for label in labels if use.by_node[label] & inside)
        found.append(FramePacket(wanted_by, psdu_octets))
        start = end
    return tuple(packet for packet in found if packet.nodes)
