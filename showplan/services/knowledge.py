"""The formula catalogue and the reference tables, for pages and API."""

import inspect
import sys
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cache
from typing import Any

from showplan import reference
from showplan.physics.catalogue import Evaluation, Formula, catalogue, evaluate
from showplan.physics.errors import BadParameters, FormulaError, UnknownFormula
from showplan.services.errors import FieldFault, InvalidInput, NotFound

TABLES = (
    "materials",
    "phys",
    "regions",
    "region-rules",
    "environments",
    "body-losses",
    "crowds",
    "indoor-power-losses",
    "indoor-floor-losses",
    "indoor-shadowing",
    "indoor-alpha-beta-gamma",
    "wires",
    "awg-wires",
    "ambient-factors",
    "grouping-factors",
    "fuse-series",
    "fuse-gates",
    "fuse-breaking",
    "pulse-life",
    "switch-examples",
    "voltage-limits",
    "touch-limits",
    "flicker-limits",
    "battery-chemistries",
    "battery-temperatures",
    "battery-presets",
    "load-presets",
    "carriage-rules",
)


@dataclass(frozen=True)
class Family:
    """Formulas of one module of the catalogue."""

    key: str
    title: str
    formulas: tuple[Formula, ...]


@cache
def formula_families() -> tuple[Family, ...]:
    """The formula catalogue by family, families by title."""
    modules: dict[str, list[Formula]] = {}
    for one in catalogue().values():
        modules.setdefault(inspect.unwrap(one.function).__module__, []).append(one)
    families = [
        Family(name.rpartition(".")[2], _title(sys.modules[name].__doc__ or name), tuple(formulas))
        for name, formulas in modules.items()
    ]
    return tuple(sorted(families, key=lambda family: family.title))


def formula_named(name: str) -> Formula:
    """One formula. Raises NotFound, which offers the nearest names."""
    try:
        return catalogue()[name]
    except KeyError:
        return _unknown(name)


def quick_sum(name: str, values: Mapping[str, str | float]) -> Evaluation:
    """The value of a formula. Raises NotFound, or InvalidInput with a fault for each parameter."""
    try:
        return evaluate(name, values)
    except UnknownFormula as error:
        raise NotFound(str(error)) from error
    except BadParameters as error:
        raise InvalidInput(FieldFault(parameter, message) for parameter, message in error.details) from error
    except FormulaError as error:
        raise InvalidInput([FieldFault("", str(error))]) from error


def reference_tables() -> Mapping[str, Any]:
    """The dated reference tables under the names of TABLES, with `_` for `-`; region_rules by region."""
    regions = reference.regions()
    return {
        "materials": reference.materials(),
        "phys": reference.phys(),
        "regions": regions,
        "environments": reference.environments(),
        "body_losses": reference.body_losses(),
        "region_rules": {key: reference.region_rules(key) for key in regions},
        "crowds": reference.crowds(),
        "indoor_power_losses": reference.power_losses(),
        "indoor_floor_losses": reference.floor_losses(),
        "indoor_shadowing": reference.indoor_shadowing(),
        "indoor_alpha_beta_gamma": reference.alpha_beta_gamma(),
        "wires": reference.wires(),
        "awg_wires": reference.awg_wires(),
        "ambient_factors": reference.ambient_factors(),
        "grouping_factors": reference.grouping_factors(),
        "fuse_series": reference.fuse_series(),
        "fuse_gates": reference.fuse_gates(),
        "fuse_breaking": reference.fuse_breaking(),
        "pulse_life": reference.pulse_life(),
        "switch_examples": reference.switch_examples(),
        "voltage_limits": reference.voltage_limits(),
        "touch_limits": reference.touch_limits(),
        "flicker_limits": reference.flicker_limits(),
        "battery_chemistries": reference.battery_chemistries(),
        "battery_temperatures": reference.battery_temperatures(),
        "battery_presets": reference.battery_presets(),
        "load_presets": reference.load_presets(),
        "carriage_rules": reference.carriage_rules(),
    }


def table_named(name: str) -> list[dict[str, Any]]:
    """The rows of a reference table as JSON values, each with source and standing. Raises NotFound."""
    if name not in TABLES:
        raise NotFound(f"there is no table {name!r}; known: {', '.join(TABLES)}")
    table = reference_tables()[name.replace("-", "_")]
    if name == "region-rules":
        return [asdict(rule) for rules in table.values() for rule in rules]
    return [asdict(row) for row in (table.values() if isinstance(table, Mapping) else table)]


def _title(docstring: str) -> str:
    return docstring.strip().partition("\n")[0].rstrip(".")


def _unknown(name: str) -> Formula:
    quick_sum(name, {})
    raise NotFound(f"there is no formula {name!r}")
