"""What flows when a node or an output is switched on, and what its fuse bears."""

from typing import Final

from showplan.planner.power import tables
from showplan.planner.power.facts import NodeFacts, OutputFacts, SupplyFacts
from showplan.planner.power.results import InrushPower

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
    cold_a = load.cold_inrush_times * out.rated_a if load.cold_inrush_times > 1 else 0.0
    return _inrush(supply.emf_v.full, ohm, load.inrush_uf, cold_a, (load.fuse_class, load.fuse_a))


def _inrush(volts: float, ohm: float, farads_u: float, cold_a: float, fuse: tuple[str, float | None]) -> InrushPower:
    ohm = max(ohm, LEAST_OHM)
    cold_a = min(cold_a, volts / ohm)
    peak_a, a2s = (volts / ohm, tables.capacitor_a2s(volts, farads_u, ohm)) if farads_u > 0 else (0.0, 0.0)
    series, fuse_a = fuse
    return InrushPower(
        peak_a=max(peak_a, cold_a),
        a2s=a2s + tables.exponential_a2s(cold_a, LAMP_WARMS_S),
        borne_a2s=tables.borne_a2s(series, fuse_a) if fuse_a is not None else None,
    )
