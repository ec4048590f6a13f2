"""Which slots the nodes of a network use, and which of them a group's packet carries."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from showplan.planner.scene import Network, Node, Scene
from showplan.planner.scene_traffic import Feed, Traffic


@dataclass(frozen=True)
class SlotUse:
    """Slots by node label. `is_assumed`: no load of the network has a slot, so each output counts as one of its own.

    `without` names loads that have no slot though others have.
    """

    by_node: dict[str, frozenset[object]]
    is_assumed: bool
    without: tuple[str, ...]

    def slots_of(self, labels: Sequence[str]) -> frozenset[object]:
        """The slots that these nodes need together: one that several use goes once."""
        return frozenset().union(*(self.by_node.get(label, frozenset()) for label in labels))

    def together(self, labels: Sequence[str]) -> int:
        """How many levels these nodes need together."""
        return len(self.slots_of(labels))

    @property
    def used(self) -> frozenset[object]:
        """Every slot that some node uses."""
        return frozenset().union(*self.by_node.values())


def slot_use(scene: Scene, nodes: Sequence[Node]) -> SlotUse:
    """The slots of these nodes, by their loads."""
    labels = {node.label for node in nodes}
    loads = [load for load in scene.loads if load.node in labels]
    with_slot = [load for load in loads if load.slot is not None]
    if not with_slot:
        outputs = {
            node.label: frozenset((node.label, n) for n in range(scene.node_type(node.node_type).outputs))
            for node in nodes
            if node.role == "receiver"
        }
        return SlotUse({label: slots for label, slots in outputs.items() if slots}, bool(outputs), ())
    by_node: dict[str, set[object]] = {}
    for load in with_slot:
        by_node.setdefault(load.node, set()).add(load.slot)
    without = tuple(sorted(f"{load.label} on {load.node}" for load in loads if load.slot is None))
    return SlotUse({label: frozenset(slots) for label, slots in by_node.items()}, False, without)


def usual_feed(network: Network, use: SlotUse) -> Feed:
    """The feed where none was entered: a serial line that carries the slots in use and no others."""
    return Feed(network=network.name, slots=min(max(len(use.used), 1), 512 * 64))


def groups_of(traffic: Traffic, nodes: Sequence[Node], use: SlotUse) -> list[tuple[str, ...]]:
    """Labels of the nodes that share packets: all, in order of address in equal groups, or each alone."""
    served = sorted((n for n in nodes if n.label in use.by_node), key=lambda n: (n.short_address or 0, n.label))
    labels = [node.label for node in served]
    if not labels:
        return []
    match traffic.addressing:
        case "all":
            return [tuple(labels)]
        case "each":
            return [(label,) for label in labels]
        case _:
            parts = np.array_split(np.arange(len(labels)), min(traffic.groups, len(labels)))
            return [tuple(labels[i] for i in part) for part in parts]
