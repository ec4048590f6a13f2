"""What flows when a node or an output is switched on, and what its fuse bears."""

from typing import Final

from showplan.physics.fuses import decaying_pulse_a2s
from showplan.physics.inrush import capacitor_inrush_a, capacitor_inrush_a2s, lamp_inrush_a
from showplan.planner.power import tables
from showplan.planner.power.facts import NodeFacts, OutputFacts
from showplan.planner.power.results import InrushPower
from showplan.planner.power.supply_facts import SupplyFacts

LEAST_OHM: Final = 0.001
LAMP_WARMS_S: Final = 0.01  # time constant of a small filament; from memory


def node_inrush(node: NodeFacts, supply: SupplyFacts) -> InrushPower:
    """The node's own capacitors charging through supply, main fuse and trunk."""
    ohm = supply.source_ohm + node.trunk_ohm + node.fuse_ohm
    fuse = (node.node.main_fuse_class, node.node.main_fuse_a)
    return _inrush(supply.emf_v.full, ohm, node.node_type.input_uf, 0.0, fuse)


def output_inrush(out: OutputFacts, node: NodeFacts, supply: SupplyFacts) -> InrushPower:
    """The load's capacitors, or its cold filament, when its output goes on."""
    ohm = supply.source_ohm + node.trunk_ohm + node.fuse_ohm + out.fuse_ohm + out.switch_mohm / 1000 + out.lead_ohm
    load = out.load
    cold_a = lamp_inrush_a(out.rated_a, load.cold_inrush_times) if load.cold_inrush_times > 1 else 0.0
    return _inrush(supply.emf_v.full, ohm, load.inrush_uf, cold_a, (load.fuse_class, load.fuse_a))


def _inrush(
    volts: float, ohm: float, capacitance_uf: float, cold_a: float, fuse: tuple[str, float | None]
) -> InrushPower:
    ohm = max(ohm, LEAST_OHM)
    peak_a = a2s = 0.0
    if capacitance_uf > 0:
        peak_a, a2s = capacitor_inrush_a(volts, ohm), capacitor_inrush_a2s(volts, ohm, capacitance_uf)
    if cold_a > 0:
        cold_a = min(cold_a, volts / ohm)
        peak_a, a2s = max(peak_a, cold_a), a2s + decaying_pulse_a2s(cold_a, LAMP_WARMS_S)
    series, fuse_a = fuse
    return InrushPower(peak_a, a2s, tables.borne_a2s(series, fuse_a) if fuse_a is not None else None)
