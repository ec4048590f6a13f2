"""Scenes with one node that feeds loads, for the tests on power."""

from dataclasses import replace
from typing import Any

from showplan.planner.findings import Finding
from showplan.planner.power.kept import kept
from showplan.planner.scene import Scene
from showplan.planner.scene_checks import cross_faults
from showplan.planner.scene_power import Load, ShowPart, Supply
from tests.scenes import hall, with_venue

CALM = {"warmest_c": 20.0, "coldest_c": 20.0}


def a_load(label: str = "L1", **changes: Any) -> Load:
    """A fused lamp of 12 V, 5 W on node A1."""
    values: dict[str, Any] = {
        "label": label,
        "kind": "lamp",
        "node": "A1",
        "output": 1,
        "rated_v": 12.0,
        "rated_w": 5.0,
        "cable_length_m": 1.0,
        "cable_area_mm2": 0.5,
        "fuse_a": 1.0,
    }
    return Load(**(values | changes))


def a_tape(label: str = "L1", **changes: Any) -> Load:
    """A fused tape of 12 V and 4.8 W a metre, 1 m long, measured."""
    values: dict[str, Any] = {
        "kind": "tape",
        "rated_w": 4.8 * changes.get("length_m", 1.0),
        "length_m": 1.0,
        "tape_ohm_per_m": 0.1,
        "dropout_v": 9.0,
        "fuse_a": 2.0,
    }
    return a_load(label, **(values | changes))


def a_supply(**changes: Any) -> Supply:
    """A steady 12 V from a battery behind a converter; three packs and a charger."""
    values: dict[str, Any] = {
        "label": "B1",
        "kind": "battery",
        "chemistry": "lifepo4",
        "cells": 4,
        "nominal_v": 12.8,
        "capacity_ah": 7.5,
        "internal_resistance_ohm": 0.04,
        "converter_v": 12.0,
        "current_limit_a": 8.0,
        "packs": 3,
        "charger_current_a": 3.75,
    }
    return Supply(**(values | changes))


def bare_pack(**changes: Any) -> Supply:
    """The same pack without its converter."""
    return a_supply(**({"converter_v": None, "current_limit_a": 20.0} | changes))


SHOW_DAY = (
    ShowPart(name="pre-set", position=0, kind="pre-set", minutes=60.0, level=0.1),
    ShowPart(name="act 1", position=1, kind="act", minutes=60.0, level=0.4),
    ShowPart(name="interval", position=2, kind="interval", minutes=20.0, level=0.1),
    ShowPart(name="act 2", position=3, kind="act", minutes=60.0, level=0.4),
)


def kit(
    *loads: Load,
    supply: Supply | None = None,
    node: dict[str, Any] | None = None,
    sort: dict[str, Any] | None = None,
    venue: dict[str, Any] | None = None,
    **changes: Any,
) -> Scene:
    """The hall with the loads on node A1, well-behaved in all that is not given."""
    base = hall()
    types = {"outputs": 8, "switch_on_mohm": 10.0, "switch_k_per_w": 40.0, "drive_v": 5.0, "switch_rated_drive_v": 4.5}
    fed = {"trunk_length_m": 0.5, "trunk_area_mm2": 1.5, "main_fuse_a": 10.0}
    values: dict[str, Any] = {
        "node_types": tuple(replace(one, **(types | (sort or {}))) for one in base.node_types),
        "nodes": tuple(replace(one, **(fed | (node or {}))) if one.label == "A1" else one for one in base.nodes),
        "supplies": (supply or a_supply(),),
        "loads": loads or (a_load(),),
        "show_parts": SHOW_DAY,
    }
    return with_venue(replace(base, **(values | changes)), **(CALM | (venue or {})))


def findings(scene: Scene) -> dict[str, Finding]:
    """Findings on power by code."""
    assert not cross_faults(scene)
    return {one.code: one for one in kept(scene)[1]}
