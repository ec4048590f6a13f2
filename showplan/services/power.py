"""Does the power last, safely: every node, output and supply as plain values, for pages, API and commands."""

from dataclasses import asdict
from typing import Any

from showplan.planner.power.results import ConductorPower, NodePower, OutputPower, SupplyPower
from showplan.records.models import Venue
from showplan.services.plain_values import finite
from showplan.services.planning import PlannedVenue, plan_venue


def power_of_venue(venue: Venue) -> dict[str, Any]:
    """Volts and amperes from the supply to the far end of each load, wiring, heat, light, and packs through the day."""
    return power_in(plan_venue(venue))


def power_in(planned: PlannedVenue) -> dict[str, Any]:
    """The same for a venue that is planned already."""
    power = planned.plan.analysis.power
    return finite(
        {
            "fingerprint": planned.plan.fingerprint,
            "planner_version": planned.plan.planner_version,
            "warmest_c": power.warmest_c,
            "coldest_c": power.coldest_c,
            "nodes": [_node(one) for one in power.nodes],
            "supplies": [_supply(one) for one in power.supplies],
        }
    )


def _node(node: NodePower) -> dict[str, Any]:
    return {
        **asdict(node),
        "trunk": _conductor(node.trunk) if node.trunk else None,
        "outputs": [_output(one) for one in node.outputs],
        "energy_wh": [{"part": part, "wh": wh} for part, wh in node.energy_wh],
    }


def _output(output: OutputPower) -> dict[str, Any]:
    light = {**asdict(output.light), "evenness": output.light.evenness}
    return {**asdict(output), "light": light, "lead": _conductor(output.lead)}


def _conductor(conductor: ConductorPower) -> dict[str, Any]:
    return {**asdict(conductor), "use": conductor.use}


def _supply(supply: SupplyPower) -> dict[str, Any]:
    day = supply.day
    return {
        **asdict(supply),
        "use": supply.use,
        "day": {**asdict(day), "margin": day.margin} if day else None,
    }
