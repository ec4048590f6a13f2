"""The demo's kit as records: node types, networks and their data, supplies, nodes, loads and the show day."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from random import Random

from showplan.records.base import Record
from showplan.records.models import Crew, Load, Node, Project, Supply
from showplan.services.demo.backbone import backbone
from showplan.services.demo.costumes import costumes
from showplan.services.demo.devices import RATED_V, Device, LoadPlan, SupplyPlan
from showplan.services.demo.identity import key
from showplan.services.demo.node_types import MAIN_NETWORK, networks_of, node_types_of
from showplan.services.demo.people import COSTUME_CREW, SCENIC_CREW
from showplan.services.demo.power import fuse_of, trunk_of
from showplan.services.demo.props import props
from showplan.services.demo.scenery import scenery
from showplan.services.demo.show_data import feeds_of, timeline_of, traffics_of
from showplan.services.demo.show_day import show_day_of

# Each crew has a block of slots of its own, so that one may add a load without moving the other's.
_FIRST_SLOT = {COSTUME_CREW: 1, SCENIC_CREW: 257}
# A performer whose costume hears nothing any more goes dark softly; scenery and props hold what they show.
_WORN_WITHOUT_SIGNAL = {"on_signal_loss": Node.OnSignalLoss.FADE_OUT, "signal_lost_after_s": 2.0}


@dataclass(frozen=True)
class Kit:
    """Records not yet written: `groups` in the order in which they must be, `nodes` by label."""

    groups: tuple[Sequence[Record], ...]
    nodes: Mapping[str, Node]


def kit_of(project: Project, crews: Sequence[Crew], chance: Random) -> Kit:
    """The whole kit of the tour."""
    devices = [*backbone(), *costumes(chance), *props(), *scenery()]
    types = {one.name: one for one in node_types_of(project)}
    networks = {one.name: one for one in networks_of(project)}
    supplies = {device.label: _supply(project, device) for device in devices}
    by_name = {crew.name: crew for crew in crews}
    nodes = {
        device.label: Node(
            id=key("node", device.label),
            project=project,
            label=device.label,
            role=device.role,
            node_type=types[device.node_type],
            network=networks[device.network],
            short_address=device.short_address,
            supply=supplies[device.label],
            crew=by_name[device.crew],
            is_worn=device.is_worn,
            **(_WORN_WITHOUT_SIGNAL if device.is_worn else {}),
            **trunk_of(device),
            note=device.note,
        )
        for device in devices
    }
    loads = list(_loads(project, devices, nodes))
    slots = sorted({load.slot for load in loads if load.slot and load.node.network == networks[MAIN_NETWORK]})
    timeline = timeline_of(project, slots)
    groups = (
        list(types.values()),
        list(networks.values()),
        [timeline],
        traffics_of(project, networks, timeline),
        feeds_of(project, networks, slots[-1]),
        list(supplies.values()),
        list(nodes.values()),
        loads,
        *show_day_of(project, loads),
    )
    return Kit(groups, nodes)


def _supply(project: Project, device: Device) -> Supply:
    plan: SupplyPlan = device.supply
    is_battery = plan.capacity_ah is not None
    label = f"{device.label} {'pack' if is_battery else 'supply'}"
    return Supply(
        id=key("supply", label),
        project=project,
        label=label,
        kind=Supply.Kind.BATTERY if is_battery else Supply.Kind.MAINS,
        **vars(plan),
    )


def _loads(project: Project, devices: Sequence[Device], nodes: Mapping[str, Node]) -> Iterator[Load]:
    slots = {crew: count(first) for crew, first in _FIRST_SLOT.items()}
    for device in devices:
        for output, plan in enumerate(device.loads, 1):
            yield _load(project, nodes[device.label], plan, output, next(slots[device.crew]))


def _load(project: Project, node: Node, plan: LoadPlan, output: int, slot: int) -> Load:
    label = f"{node.label} {plan.part}"
    values = {name: value for name, value in vars(plan).items() if name not in ("part", "lacks_fuse")}
    values["feed_points_m"] = list(plan.feed_points_m)
    return Load(
        id=key("load", label),
        project=project,
        label=label,
        node=node,
        output=output,
        slot=slot,
        rated_v=RATED_V,
        **values,
        **fuse_of(plan),
    )
