"""Power of a whole Scene put together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from showplan.physics.batteries import pack_wh
from showplan.planner.power.along import Along, along_output, light_of
from showplan.planner.power.circuit import Solved
from showplan.planner.power.duty import Duty, duty_of
from showplan.planner.power.energy import node_energy_wh, supply_day
from showplan.planner.power.facts import NodeFacts, OutputFacts, PowerFacts, facts_of
from showplan.planner.power.heat import surface_c, switches
from showplan.planner.power.inrush import node_inrush, output_inrush
from showplan.planner.power.line import points_of
from showplan.planner.power.protection import Cable, Protected, conductor, laid
from showplan.planner.power.results import (
    ConductorPower,
    InStates,
    NodePower,
    OutputPower,
    ScenePower,
    StateName,
    SupplyPower,
    SwitchPower,
)
from showplan.planner.power.states import Layout, in_states
from showplan.planner.power.supply_facts import SupplyFacts
from showplan.planner.scene import Scene
from showplan.planner.scene_power import ShowPart


@dataclass(frozen=True)
class Planned:
    """The numbers, and the facts they were worked out from."""

    facts: PowerFacts
    power: ScenePower


def planned(scene: Scene) -> Planned:
    """Facts and power of every node that feeds a load or is fed by a supply, and of every supply."""
    facts = facts_of(scene)
    return Planned(facts, _Planning(scene, facts, duty_of(scene)).result())


def power_of(scene: Scene) -> ScenePower:
    """Power of every node that feeds a load or is fed by a supply, and of every supply."""
    return planned(scene).power


@dataclass(frozen=True)
class _Planning:
    scene: Scene
    facts: PowerFacts
    duty: Duty

    def result(self) -> ScenePower:
        venue = self.scene.venue
        nodes = tuple(self._node(k) for k in range(len(self.facts.nodes)))
        supplies = tuple(self._supply(i) for i, one in enumerate(self.facts.supplies) if one.supply is not None)
        return ScenePower(venue.warmest_c, venue.coldest_c, nodes, supplies)

    @cached_property
    def layout(self) -> Layout:
        return Layout(self.facts)

    @cached_property
    def parts(self) -> tuple[ShowPart, ...]:
        return tuple(sorted(self.scene.show_parts, key=lambda part: (part.position, part.name)))

    @cached_property
    def switches(self) -> tuple[SwitchPower, ...]:
        """The switches at the most current they get, first taken cold."""
        cold = self.layout.solved(self.layout.switch_ohm)
        most_a = np.maximum.reduce([self.layout.rated_a, *(one.output_a for one in cold.values())])
        owners = [(out, node) for node in self.facts.nodes for out in node.outputs]
        full_v = np.array([self._supply_facts(node).emf_v.full for _, node in owners])
        return switches(owners, most_a, full_v, self.scene.venue.warmest_c)

    @cached_property
    def solved(self) -> Mapping[StateName, Solved]:
        """The circuit with its switches as warm as they get."""
        return self.layout.solved(np.array([switch.mohm_warm / 1000 for switch in self.switches]))

    def figures(self, field: str) -> tuple[InStates, ...]:
        """One figure of the solutions, of every supply, node or output, in every state."""
        if field not in self._figures:
            self._figures[field] = in_states(self.solved, field)
        return self._figures[field]

    @cached_property
    def _figures(self) -> dict[str, tuple[InStates, ...]]:
        return {}

    @cached_property
    def part_amps(self) -> tuple[Mapping[str, float], ...]:
        """Mean current of each node in each part."""
        nominal_a = self.solved["nominal"].output_a
        found = []
        for k, node in enumerate(self.facts.nodes):
            amps = nominal_a[self.layout.first[k] : self.layout.first[k + 1]].tolist()
            found.append({part.name: self._mean_a(node, amps, part) for part in self.parts})
        return tuple(found)

    def _mean_a(self, node: NodeFacts, amps: Sequence[float], part: ShowPart) -> float:
        if part.kind == "gap":
            return 0.0
        lit = sum(a * self.duty.mean_level(out.load, part) for a, out in zip(amps, node.outputs, strict=True))
        return node.standing_a + lit

    def _supply_facts(self, node: NodeFacts) -> SupplyFacts:
        return self.facts.supplies[node.supply]

    def _supply(self, place: int) -> SupplyPower:
        facts = self.facts.supplies[place]
        supply = facts.supply
        assert supply is not None  # the caller leaves assumed ones out
        fed = [k for k, node in enumerate(self.facts.nodes) if node.supply == place]
        current = self.figures("supply_a")[place]
        amps = {part.name: sum(self.part_amps[k][part.name] for k in fed) for part in self.parts}
        rows, day = supply_day(facts, self.parts, amps, current.nominal, self.scene.venue.coldest_c)
        short_a = facts.short_circuit_a
        return SupplyPower(
            supply=supply.label,
            kind=supply.kind,
            chemistry=facts.chemistry.key if facts.chemistry else "",
            nodes=tuple(self.facts.nodes[k].node.label for k in fed),
            emf_v=facts.emf_v,
            terminal_v=self.figures("supply_v")[place],
            current=current,
            internal_ohm=facts.source_ohm,
            limit_a=facts.limit_a,
            short_circuit_a=short_a if np.isfinite(short_a) else None,
            watt_hours=pack_wh(supply.nominal_v, facts.capacity_ah) if facts.capacity_ah else None,
            parts=rows,
            day=day,
            assumed=facts.assumed,
        )

    def _node(self, k: int) -> NodePower:
        node, supply = self.facts.nodes[k], self._supply_facts(self.facts.nodes[k])
        current = self.figures("node_a")[k]
        first = int(self.layout.first[k])
        assumed = node.assumed if supply.supply is not None else (*supply.assumed, *node.assumed)
        return NodePower(
            node=node.node.label,
            supply=node.node.supply,
            bus_v=self.figures("node_v")[k],
            current=current,
            standing_a=node.standing_a,
            trunk=self._trunk(node, supply, current),
            inrush=node_inrush(node, supply),
            outputs=tuple(self._output(node, k, first + i, out) for i, out in enumerate(node.outputs)),
            energy_wh=node_energy_wh(supply.emf_v.nominal, self.part_amps[k], self.parts),
            assumed=assumed,
        )

    def _trunk(self, node: NodeFacts, supply: SupplyFacts, current: InStates) -> ConductorPower | None:
        kit = node.node
        if kit.trunk_length_m is None:
            return None
        return conductor(
            self._cable(node, "trunk", kit.trunk_length_m, node.trunk_mm2, node.trunk_ohm, 1),
            Protected(
                design_a=current.most,
                through_fuse_a=current.most,
                fuse=(kit.main_fuse_a, kit.main_fuse_class) if kit.main_fuse_a is not None else None,
                fuse_class=kit.main_fuse_class,
                upstream=None,
                limit_a=supply.limit_a if supply.limits_itself else None,
            ),
            drop_v=current.rated * node.trunk_ohm,
        )

    def _output(self, node: NodeFacts, k: int, at: int, out: OutputFacts) -> OutputPower:
        supply, load, layout = self._supply_facts(node), out.load, self.layout
        has_collapsed = any(bool(one.has_collapsed[at]) for one in self.solved.values())
        powered = None
        if out.tape is not None and out.behaviour == "constant-power":
            powered = layout.power_tape(at, np.zeros(len(layout.outputs)))
        current = self.figures("output_a")[at]
        tapes = layout.steady_tapes.get(at), layout.affine_tapes.get(at), powered
        along = along_output(self.figures("output_v")[at], current, tapes)
        supply_v = self.figures("supply_v")[node.supply]
        node_v = self.figures("node_v")[k]
        drop_v = supply_v.rated - along.fed_v.rated
        full_w = node_v.nominal * current.nominal
        level = self.duty.most_level(load, self.parts)
        is_touched = load.is_against_skin or node.node.is_worn
        watts = max(out.rated_w, full_w)
        return OutputPower(
            node=node.node.label,
            output=load.output,
            load=load.label,
            kind=load.kind,
            behaviour=out.behaviour,
            rated_v=load.rated_v,
            rated_a=out.rated_a,
            current=current,
            load_v=along.fed_v,
            far_v=along.far_v,
            drop_v=drop_v,
            drop_percent=100 * drop_v / supply.emf_v.nominal,
            full_w=full_w,
            light=light_of(out, along, has_collapsed=has_collapsed),
            lead=self._lead(node, supply, out, along, current),
            switch=self.switches[at],
            inrush=output_inrush(out, node, supply),
            most_level=level,
            surface_c=surface_c(out, watts, level, self.scene.venue.warmest_c) if is_touched else None,
            has_collapsed=has_collapsed,
            points=points_of(
                supply_v=supply_v,
                node_v=node_v,
                switch_v=self._behind_switch(out, at),
                node_a=self.figures("node_a")[k],
                output_a=current,
                trunk_m=node.node.trunk_length_m or 0.0,
                cable_m=load.cable_length_m,
                along=along,
                tape=out.tape,
            ),
        )

    def _behind_switch(self, out: OutputFacts, at: int) -> InStates:
        """Volts where the cables of an output begin."""
        volts, current = self.figures("output_v")[at], self.figures("output_a")[at]
        if out.tape is not None:
            return volts
        ohm = out.lead_ohm
        return InStates(
            volts.rated + ohm * current.rated,
            volts.full + ohm * current.full,
            volts.nominal + ohm * current.nominal,
            volts.empty + ohm * current.empty,
        )

    def _lead(
        self, node: NodeFacts, supply: SupplyFacts, out: OutputFacts, along: Along, current: InStates
    ) -> ConductorPower:
        load, kit = out.load, node.node
        amps = along.cable_a
        main = (kit.main_fuse_a, kit.main_fuse_class) if kit.main_fuse_a is not None else None
        return conductor(
            self._cable(node, "lead", load.cable_length_m, load.cable_area_mm2, out.lead_ohm, load.cables_together),
            Protected(
                design_a=amps.most,
                through_fuse_a=current.most,
                fuse=(load.fuse_a, load.fuse_class) if load.fuse_a is not None else None,
                fuse_class=load.fuse_class,
                upstream=main,
                limit_a=supply.limit_a if supply.limits_itself else None,
            ),
            drop_v=amps.rated * out.lead_ohm,
        )

    def _cable(self, node: NodeFacts, name: str, length_m: float, area_mm2: float, ohm: float, together: int) -> Cable:
        cable = Cable(name, length_m, area_mm2, ohm, together, node.conductor_c)
        return laid(cable, is_worn=node.node.is_worn)
