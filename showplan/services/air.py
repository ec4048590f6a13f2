"""Does the data fit: each network's air as plain values, for pages, API and commands."""

from dataclasses import asdict
from typing import Any

from showplan.physics.waiting import radio_energy_mj
from showplan.planner.air import NetworkAir, NodeAir
from showplan.planner.air.assumptions import air_assumptions
from showplan.planner.air.network import SUPPLY_V, TRANSMIT_MA
from showplan.planner.air.splitting import split_of
from showplan.planner.air.strategies import strategies
from showplan.planner.analysis import Analysis
from showplan.records.models import Venue
from showplan.services.computing import state_of
from showplan.services.errors import NotFound
from showplan.services.plain_values import finite
from showplan.services.planning import PlannedVenue, plan_venue

ENERGY_BASIS = (
    f"Energy of sending alone, all senders together: {TRANSMIT_MA:g} mA at {SUPPLY_V:g} V while a node sends or"
    " acknowledges (assumption, a published energy model of a common 250 kbit/s node). Listening is left out: it costs"
    f" each radio about {radio_energy_mj(TRANSMIT_MA, SUPPLY_V, 3.6e6) / 1000:.0f} J an hour, whichever way is taken."
)


def air_of_venue(venue: Venue, house: str = "") -> dict[str, Any]:
    """Rate, load, latency, delivery and limits of every network and node."""
    return air_in(plan_venue(venue), house)


def air_in(planned: PlannedVenue, house: str = "") -> dict[str, Any]:
    """The same for a venue that is planned already."""
    state = state_of(planned.plan, house)
    networks = planned.plan.analyses[state].air
    return finite(
        {
            **_stamp(planned),
            "house": state,
            "assumptions": list(air_assumptions(planned.scene)),
            "networks": [_network(planned, one) for one in networks.values()],
        }
    )


def sending_networks(planned: PlannedVenue, house: str = "") -> list[str]:
    """Networks that have something to send here; every network of the project where none has."""
    air = planned.plan.analyses[state_of(planned.plan, house)].air
    return [name for name, one in air.items() if one.slots] or [network.name for network in planned.scene.networks]


def strategies_of_venue(venue: Venue, network: str, house: str = "") -> dict[str, Any]:
    """Every sensible way of sending the network's show, the best first, and how to split it where it does not fit.

    Raises NotFound for a network that has no data to plan here.
    """
    return strategies_in(plan_venue(venue), network, house)


def strategies_in(planned: PlannedVenue, network: str, house: str = "") -> dict[str, Any]:
    """The same for a venue that is planned already."""
    state = state_of(planned.plan, house)
    analysis = planned.plan.analyses[state]
    if network not in analysis.air:
        known = ", ".join(sorted(analysis.air)) or "none"
        raise NotFound(f"there is no network {network!r} with nodes here; known: {known}")
    return finite(
        {
            **_stamp(planned),
            "house": state,
            "network": network,
            "energy_basis": ENERGY_BASIS,
            "strategies": [_strategy(one) for one in strategies(analysis, network)],
            "split": _split(analysis, network),
        }
    )


def _stamp(planned: PlannedVenue) -> dict[str, Any]:
    return {"fingerprint": planned.plan.fingerprint, "planner_version": planned.plan.planner_version}


def _network(planned: PlannedVenue, air: NetworkAir) -> dict[str, Any]:
    values = asdict(air)
    del values["contention"]
    return {
        **values,
        "fits": air.fits,
        "estimate_is_valid": air.contention.is_valid,
        "nodes": [_node(planned, node) for node in air.nodes],
    }


def _node(planned: PlannedVenue, node: NodeAir) -> dict[str, Any]:
    entered = planned.scene.node(node.label)
    return {
        **asdict(node),
        "buffer_headroom_octets": node.buffer_headroom_octets,
        "on_signal_loss": entered.on_signal_loss,
        "signal_lost_after_s": entered.signal_lost_after_s,
    }


def _strategy(one: Any) -> dict[str, Any]:
    return {**asdict(one), "in_words": one.in_words, "energy_j_per_show_hour": one.energy_j_per_show_hour}


def _split(analysis: Analysis, network: str) -> dict[str, Any] | None:
    found = split_of(analysis, network)
    return None if found is None else asdict(found)
