"""Does the data fit: each network's air as plain values, for pages, API and commands."""

import math
from dataclasses import asdict
from typing import Any

from showplan.planner.air import NetworkAir
from showplan.planner.air.splitting import split_of
from showplan.planner.air.strategies import strategies
from showplan.planner.analysis import Analysis
from showplan.records.models import Venue
from showplan.services.computing import state_of
from showplan.services.errors import NotFound
from showplan.services.planning import PlannedVenue, plan_venue


def air_of_venue(venue: Venue, house: str = "") -> dict[str, Any]:
    """Rate, load, latency, delivery and limits of every network and node."""
    return air_in(plan_venue(venue), house)


def air_in(planned: PlannedVenue, house: str = "") -> dict[str, Any]:
    """The same for a venue that is planned already."""
    state = state_of(planned.plan, house)
    networks = planned.plan.analyses[state].air
    return _finite({**_stamp(planned), "house": state, "networks": [_network(one) for one in networks.values()]})


def strategies_of_venue(venue: Venue, network: str, house: str = "") -> dict[str, Any]:
    """Every sensible way of sending the network's show, the best first, and how to split it where it does not fit.

    Raises NotFound for a network that has no data to plan here.
    """
    planned = plan_venue(venue)
    state = state_of(planned.plan, house)
    analysis = planned.plan.analyses[state]
    if network not in analysis.air:
        known = ", ".join(sorted(analysis.air)) or "none"
        raise NotFound(f"there is no network {network!r} with nodes here; known: {known}")
    return _finite(
        {
            **_stamp(planned),
            "house": state,
            "network": network,
            "strategies": [_strategy(one) for one in strategies(analysis, network)],
            "split": _split(analysis, network),
        }
    )


def _finite(values: dict[str, Any]) -> dict[str, Any]:
    return {name: _finite_part(part) for name, part in values.items()}


def _finite_part(value: Any) -> Any:
    """The value with null for what has no number in JSON: a limit that sets none."""
    if isinstance(value, dict):
        return _finite(value)
    if isinstance(value, list | tuple):
        return [_finite_part(part) for part in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value


def _stamp(planned: PlannedVenue) -> dict[str, Any]:
    return {"fingerprint": planned.plan.fingerprint, "planner_version": planned.plan.planner_version}


def _network(air: NetworkAir) -> dict[str, Any]:
    values = asdict(air)
    del values["contention"]
    return {
        **values,
        "fits": air.fits,
        "estimate_is_valid": air.contention.is_valid,
        "nodes": [{**asdict(node), "buffer_headroom_octets": node.buffer_headroom_octets} for node in air.nodes],
    }


def _strategy(one: Any) -> dict[str, Any]:
    return {**asdict(one), "in_words": one.in_words}


def _split(analysis: Analysis, network: str) -> dict[str, Any] | None:
    found = split_of(analysis, network)
    return None if found is None else asdict(found)
