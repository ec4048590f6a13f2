"""Supplies, nodes and loads as the circuit needs them: every value entered, of a preset, or assumed and marked."""

from collections import defaultdict
from dataclasses import dataclass
from typing import Final

from showplan.planner.power import tables
from showplan.planner.power.chemistries import load_preset
from showplan.planner.power.results import Assumed
from showplan.planner.power.supply_facts import SupplyFacts, ideal_supply, supply_facts
from showplan.planner.power.tape import Tape
from showplan.planner.power.values import Values
from showplan.planner.scene import Node, NodeType, Scene
from showplan.planner.scene_power import Load

WORN_C: Final = 40.0  # air under costume fabric, at least; judgement
STRING_DARK: Final = 0.75  # share of its rated voltage at which an LED string goes dark: 3 LEDs of 3 V on 12 V
DRIVER_DARK: Final = 0.7  # the same for tape with a current driver for each LED, on 5 V
STRINGS_FROM_V: Final = 9.0
TAPE_OHM_PER_M: Final = 0.10
SWITCH_MOHM: Final = 20.0
SWITCH_K_PER_W: Final = 62.0
BEHAVIOURS: Final = {"tape": "led-string", "lamp": "resistive", "fan": "constant-power", "other": "constant-current"}


def air_c(node: Node, warmest_c: float) -> float:
    """Air around a node and its leads: under costume fabric it is warm."""
    return max(warmest_c, WORN_C) if node.is_worn else warmest_c


@dataclass(frozen=True)
class OutputFacts:
    """An output and its load. Ohms of the lead are go and return, of one cable."""

    load: Load
    behaviour: str
    rated_a: float
    dark_v: float
    lead_ohm: float
    fuse_ohm: float
    switch_mohm: float
    switch_k_per_w: float
    tape: Tape | None

    @property
    def siemens(self) -> float:
        """Current per volt above `dark_v`, of loads that follow the voltage."""
        return self.rated_a / (self.load.rated_v - self.dark_v)

    @property
    def rated_w(self) -> float:
        """Watts at rated voltage."""
        return self.rated_a * self.load.rated_v


@dataclass(frozen=True)
class NodeFacts:
    """A node with what hangs on it; `supply` is a place in `PowerFacts.supplies`.

    `trunk_ohm` go and return; conductors are as warm as the air around them, `conductor_c`.
    """

    node: Node
    node_type: NodeType
    supply: int
    trunk_mm2: float
    trunk_ohm: float
    fuse_ohm: float
    standing_a: float
    conductor_c: float
    outputs: tuple[OutputFacts, ...]
    assumed: tuple[Assumed, ...]


@dataclass(frozen=True)
class PowerFacts:
    """Everything that the circuit is made of."""

    supplies: tuple[SupplyFacts, ...]
    nodes: tuple[NodeFacts, ...]


def facts_of(scene: Scene) -> PowerFacts:
    """Facts of all nodes that feed a load or are fed by a supply, in order of label, and of all supplies."""
    loads: dict[str, list[Load]] = defaultdict(list)
    for load in scene.loads:
        loads[load.node].append(load)
    supplies = [supply_facts(one) for one in sorted(scene.supplies, key=lambda one: one.label)]
    places = {one.label: i for i, one in enumerate(supplies)}
    nodes = []
    for node in sorted(scene.nodes, key=lambda one: one.label):
        own = sorted(loads[node.label], key=lambda one: one.output)
        if node.supply is None and not own:
            continue
        if node.supply is None:
            supplies.append(ideal_supply(node, own))
            place = len(supplies) - 1
        else:
            place = places[node.supply]
        warm_c = air_c(node, scene.venue.warmest_c)
        nodes.append(_node_facts(node, scene.node_type(node.node_type), place, own, warm_c))
    return PowerFacts(tuple(supplies), tuple(nodes))


def _node_facts(node: Node, node_type: NodeType, supply: int, loads: list[Load], warm_c: float) -> NodeFacts:
    values = Values("node", node.label)
    trunk_ohm = area = 0.0
    if node.trunk_length_m is not None:
        area = values.of("trunk_area_mm2", node.trunk_area_mm2, 0.75, "mm2")
        trunk_ohm = node.trunk_length_m * tables.loop_ohm_per_m(area, warm_c)
    switch = Values("node type", node_type.name)
    mohm, k_per_w = SWITCH_MOHM, SWITCH_K_PER_W
    if loads:
        mohm = switch.of("switch_on_mohm", node_type.switch_on_mohm, SWITCH_MOHM, "mohm at 25 °C")
        k_per_w = switch.of("switch_k_per_w", node_type.switch_k_per_w, SWITCH_K_PER_W, "K/W")
    outputs, assumed = [], [*values.assumed, *switch.assumed]
    for load in loads:
        own = Values("load", load.label, load.preset)
        outputs.append(output_facts(load, mohm, k_per_w, warm_c, own))
        assumed += own.assumed
    return NodeFacts(
        node=node,
        node_type=node_type,
        supply=supply,
        trunk_mm2=area,
        trunk_ohm=trunk_ohm,
        fuse_ohm=node.main_fuse_mohm / 1000,
        standing_a=node_type.standing_current_ma / 1000,
        conductor_c=warm_c,
        outputs=tuple(outputs),
        assumed=tuple(assumed),
    )


def output_facts(load: Load, switch_mohm: float, switch_k_per_w: float, warm_c: float, values: Values) -> OutputFacts:
    """What an output feeds, through what."""
    rated_a = load.rated_a if load.rated_a is not None else (load.rated_w or 0.0) / load.rated_v
    preset = load_preset(load.preset)
    has_drivers = load.kind == "tape" and load.rated_v < STRINGS_FROM_V
    usual = "constant-current" if has_drivers else BEHAVIOURS[load.kind]
    behaviour = load.behaviour or (preset.behaviour if preset else usual)
    goes_dark = load.kind == "tape" or load.dropout_v is not None or behaviour == "led-string"
    dark_v = 0.0
    if goes_dark and behaviour in ("led-string", "constant-current"):
        share = DRIVER_DARK if behaviour == "constant-current" else STRING_DARK
        dark_v = values.of("dropout_v", load.dropout_v, share * load.rated_v, "V")
    dark_v = min(dark_v, 0.99 * load.rated_v)
    lead_ohm = load.cable_length_m * tables.loop_ohm_per_m(load.cable_area_mm2, warm_c)
    return OutputFacts(
        load=load,
        behaviour=behaviour,
        rated_a=rated_a,
        dark_v=dark_v,
        lead_ohm=lead_ohm,
        fuse_ohm=load.fuse_mohm / 1000,
        switch_mohm=switch_mohm,
        switch_k_per_w=switch_k_per_w,
        tape=_tape(load, lead_ohm, values) if load.kind == "tape" and load.length_m is not None else None,
    )


def _tape(load: Load, lead_ohm: float, values: Values) -> Tape:
    assert load.length_m is not None  # asked by the caller
    ohm_per_m = values.of("tape_ohm_per_m", load.tape_ohm_per_m, TAPE_OHM_PER_M, "ohm/m", "assumed: measure it")
    return Tape(load.length_m, ohm_per_m, feed_points_m(load), lead_ohm)


def feed_points_m(load: Load) -> tuple[float, ...]:
    """Where a tape is fed, in m from its start; points beyond its end count as there."""
    length = load.length_m or 0.0
    if load.feeding == "both-ends":
        return (0.0, length)
    if load.feeding == "points" and load.feed_points_m:
        return tuple(sorted({min(point, length) for point in load.feed_points_m}))
    return (0.0,)
