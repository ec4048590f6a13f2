"""The packets in which one frame of the show goes out: who wants each, and how long it is."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from showplan.planner.scene import Node, Scene
from showplan.planner.scene_traffic import Traffic

CHECK_OCTETS: Final = 2
# MAC header with both addresses in one PAN, IEEE 802.15.4-2006 clause 7.2, read in public source files.
HEADER_OCTETS: Final = {"short": 9, "extended": 21}
# Auxiliary security header of 5 octets and the integrity code, from the same sources.
SECURITY_OCTETS: Final = {"none": 0, "mic-32": 9, "mic-64": 13, "mic-128": 21}


class NothingFits(ValueError):
    """The headers leave no octet for the show."""


@dataclass(frozen=True)
class FramePacket:
    """One packet of a frame: the nodes whose octets it carries, and the octets of its MAC frame, check sum included."""

    nodes: tuple[str, ...]
    psdu_octets: int


def octets_of(scene: Scene, node: Node) -> int:
    """Octets of a frame that a node uses: its loads' slots, one for each output of a load without slot.

    A node for which no load was entered counts with every output of its type.
    """
    loads = [load for load in scene.loads if load.node == node.label]
    if not loads:
        return scene.node_type(node.node_type).outputs
    slots = {load.slot for load in loads if load.slot is not None}
    return len(slots) + len({load.output for load in loads if load.slot is None})


def packets_of_frame(octets: Mapping[str, int], traffic: Traffic, longest_frame_octets: int) -> list[FramePacket]:
    """The nodes' octets in order, packed into as few packets as each addressing allows. Raises NothingFits."""
    header = CHECK_OCTETS + HEADER_OCTETS[traffic.addresses] + SECURITY_OCTETS[traffic.security] + traffic.header_octets
    most = longest_frame_octets - header
    if most < 1:
        raise NothingFits(f"headers take {header} octets of {longest_frame_octets}: none is left for the show")
    wanted = {node: count for node, count in octets.items() if count > 0}
    return [packet for group in _groups(list(wanted), traffic) for packet in _packed(group, wanted, most, header)]


def _groups(nodes: Sequence[str], traffic: Traffic) -> list[Sequence[str]]:
    """Nodes that share packets; groups differ by one node at most."""
    match traffic.addressing:
        case "all":
            return [nodes] if nodes else []
        case "each":
            return [[node] for node in nodes]
        case "groups":
            size = math.ceil(len(nodes) / traffic.groups) or 1
            return [nodes[start : start + size] for start in range(0, len(nodes), size)]


def _packed(nodes: Sequence[str], octets: Mapping[str, int], most: int, header: int) -> list[FramePacket]:
    stream = [node for node in nodes for _ in range(octets[node])]
    parts = [stream[start : start + most] for start in range(0, len(stream), most)]
    return [FramePacket(tuple(dict.fromkeys(part)), header + len(part)) for part in parts]
