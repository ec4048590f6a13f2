"""The packets in which one frame of the show goes out: who wants each, and how long it is."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from showplan.planner.scene import Node, Scene
from showplan.planner.scene_traffic import Traffic

CHECK_OCTETS: Final = 2
# IEEE 802.15.4-2006 clause 7.2, read in public source files: frame control, sequence number and PAN identifier; one
# address; the auxiliary security header without a key identifier; the integrity code.
FRAME_OCTETS, SHORT_OCTETS, EXTENDED_OCTETS, AUXILIARY_OCTETS = 5, 2, 8, 5
CODE_OCTETS: Final = {"none": 0, "mic-32": 4, "mic-64": 8, "mic-128": 16}
ROUNDING: Final = 1e-9  # a share of the levels that is a whole number must stay one

Slots = Mapping[str, frozenset[Any]]


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


def slots_of(scene: Scene, nodes: Sequence[Node]) -> Slots:
    """The slots that these nodes' loads use; where no load has one, each output of a receiver counts as one."""
    labels = {node.label for node in nodes}
    found: dict[str, set[Any]] = {}
    for load in scene.loads:
        if load.node in labels and load.slot is not None:
            found.setdefault(load.node, set()).add(load.slot)
    if not found:
        for node in nodes:
            outputs = scene.node_type(node.node_type).outputs
            if node.role == "receiver" and outputs:
                found[node.label] = {(node.label, number) for number in range(outputs)}
    return {label: frozenset(slots) for label, slots in found.items()}


def frames_of_groups(
    nodes: Sequence[Node], slots: Slots, traffic: Traffic, longest_frame_octets: int
) -> list[GroupFrame]:
    """What goes out for one frame, group by group in order of address. Raises NothingFits."""
    overhead = overhead_octets(traffic)
    most = longest_frame_octets - overhead
    if most < 1:
        raise NothingFits(f"headers take {overhead} octets of {longest_frame_octets}: none is left for the show")
    served = sorted((n for n in nodes if n.label in slots), key=lambda n: (n.short_address or 0, n.label))
    return [_frame(labels, slots, traffic, most, overhead) for labels in _groups([n.label for n in served], traffic)]


def overhead_octets(traffic: Traffic) -> int:
    """Octets of a MAC frame besides the levels; packets for several nodes go to a short address."""
    source = EXTENDED_OCTETS if traffic.addresses == "extended" else SHORT_OCTETS
    destination = source if traffic.addressing == "each" else SHORT_OCTETS
    code = CODE_OCTETS[traffic.security]
    security = code + AUXILIARY_OCTETS if code else 0
    return FRAME_OCTETS + destination + source + security + CHECK_OCTETS + traffic.header_octets


def _groups(labels: list[str], traffic: Traffic) -> list[tuple[str, ...]]:
    count = {"all": 1, "groups": traffic.groups, "each": len(labels)}[traffic.addressing]
    parts = np.array_split(np.arange(len(labels)), min(count, len(labels)) or 1)
    return [tuple(labels[i] for i in part) for part in parts if len(part)]


def _frame(labels: tuple[str, ...], slots: Slots, traffic: Traffic, most: int, overhead: int) -> GroupFrame:
    """A slot that several nodes of the group use goes once."""
    levels = sorted(frozenset().union(*(slots[label] for label in labels)))
    complete = _packed(labels, slots, levels, len(levels), most, overhead)
    # One bit a slot says which levels follow.
    changed = -(-len(levels) // 8) + math.ceil(traffic.changed_share * len(levels) - ROUNDING)
    if traffic.coding == "full" or changed >= len(levels):
        return GroupFrame(labels, complete, complete, 1.0)
    share = min(1.0, 1 / (traffic.keep_alive_s * traffic.refresh_hz))
    return GroupFrame(labels, _packed(labels, slots, levels, changed, most, overhead), complete, share)


def _packed(
    labels: Sequence[str], slots: Slots, levels: Sequence[Any], octets: int, most: int, overhead: int
) -> tuple[FramePacket, ...]:
    """So many octets, spread evenly over the levels, one packet after the other."""
    found = []
    for start in range(0, octets, most):
        end = min(start + most, octets)
        inside = {levels[octet * len(levels) // octets] for octet in range(start, end)}
        wanted_by = tuple(label for label in labels if slots[label] & inside)
        found.append(FramePacket(wanted_by, overhead + end - start))
    return tuple(packet for packet in found if packet.nodes)
