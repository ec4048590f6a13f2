"""How every level and zone of a venue is served by every network, on a fine grid, in each state of the house."""

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any, Literal

from pydantic import Field

from showplan.planner.coverage import DEFAULT_HEIGHT_M, MOST_CELLS, Coverage, CoverageError, coverage
from showplan.planner.links import members
from showplan.planner.obstacles import HouseState, states_of
from showplan.planner.scene import Level, Network, Scene
from showplan.planner.watch import CannotCompute, Watch
from showplan.services.errors import FieldFault
from showplan.services.jobs.kind import Kind, Parameters


class CoverageOfLevels(Parameters):
    """Which coverage: the grid's step, the height above each floor, one network or all, one state of the house or
    each in which the venue differs.

    Where a level is lower than `height_m`, the grid lies at its clear height.
    """

    step_m: float = Field(0.25, ge=0.05, le=10.0, title="Side of a cell (m)")
    height_m: float = Field(DEFAULT_HEIGHT_M, ge=0.0, le=100.0, title="Height above each floor (m)")
    network: str | None = Field(None, min_length=1, max_length=80, title="Only this network")
    house: Literal["empty", "full"] | None = Field(None, title="Only with the house")


def check(scene: Scene, parameters: CoverageOfLevels) -> Iterator[FieldFault]:
    """An unknown network, and a step that is too fine for a level."""
    networks = [network.name for network in scene.networks]
    if parameters.network is not None and parameters.network not in networks:
        yield FieldFault("network", f"there is no network of that name; known: {', '.join(networks) or 'none'}")
    elif not _served(scene, parameters):
        yield FieldFault("network", "no network has a gateway or relay placed here, so nothing is covered")
    for level in scene.levels:
        finest_m = (level.width_m * level.depth_m / MOST_CELLS) ** 0.5
        if parameters.step_m < finest_m:
            yield FieldFault("step_m", f"must be at least {finest_m:.3f} m on level {level.name!r}")


def compute(scene: Scene, parameters: CoverageOfLevels, watch: Watch) -> dict[str, Any]:
    """One entry for each level, network and state of the house. Raises CannotCompute where the planner refuses."""
    states = _states(scene, parameters)
    parts = [(n, level, state) for n in _served(scene, parameters) for level in scene.levels for state in states]
    found = []
    for number, (network, level, state) in enumerate(parts):
        if watch.is_cancelled():
            break
        watch.progress(number / len(parts), f"level {level.name}, network {network.name}, house {state}")
        try:
            one = coverage(
                scene,
                network,
                level.name,
                step_m=parameters.step_m,
                height_m=_height_m(level, parameters),
                state=state,
            )
        except CoverageError as error:
            raise CannotCompute(str(error)) from error
        found.append(_values(one))
    return {"step_m": parameters.step_m, "levels": found}


def in_words(result: dict[str, Any]) -> Sequence[str]:
    """A sentence for each level, network and state of the house, worst zone included."""
    return [_sentence(one) for one in result["levels"]]


def _served(scene: Scene, parameters: CoverageOfLevels) -> list[Network]:
    """The networks asked for that have a sender in this venue."""
    asked = [network for network in scene.networks if parameters.network in (None, network.name)]
    return [network for network in asked if any(node.role != "receiver" for node in members(scene, network))]


def _states(scene: Scene, parameters: CoverageOfLevels) -> list[HouseState]:
    """The states asked for; a venue that does not differ has one answer, which holds for both."""
    differing = states_of(scene)
    return [state for state in differing if parameters.house in (None, state)] or list(differing)


def _height_m(level: Level, parameters: CoverageOfLevels) -> float:
    return min(parameters.height_m, level.clear_height_m)


def _values(found: Coverage) -> dict[str, Any]:
    return {
        "level": found.level,
        "network": found.network,
        "house": found.state,
        "height_m": found.listener.height_m,
        "cells": len(found.x_m) * len(found.y_m),
        "senders": list(found.transmitters),
        "share_served": found.share_served(),
        "mean_delivery": float(found.best_delivery().mean(dtype=float)),
        "zones": [asdict(share) for share in found.zone_shares],
    }


def _sentence(one: dict[str, Any]) -> str:
    words = (
        f"{one['level']}, network {one['network']}, house {one['house']}:"
        f" {_percent(one['share_served'])} of the level keeps the fade margin"
    )
    if not one["zones"]:
        return f"{words}."
    worst = min(one["zones"], key=lambda zone: (zone["served"], zone["zone"]))
    return f"{words}; of {worst['zone']}, the least served zone, {_percent(worst['served'])} gets 99 % of the packets."


def _percent(share: float) -> str:
    return f"{int(share * 1000) / 10:g} %"  # rounded down: what is not everything is never told as 100 %


KIND = Kind(
    name="coverage-of-levels",
    title="Coverage of every level",
    about="How every level and zone is served by every network, on a fine grid, in each state of the house.",
    parameters=CoverageOfLevels,
    compute=compute,
    check=check,
    in_words=in_words,
)
