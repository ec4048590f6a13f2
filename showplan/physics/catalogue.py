"""The formula catalogue: every published formula of this package, by name, with units and source.

To add a formula, write a function in the module of its family (or a new module) under `@formula(...)`.
"""

import difflib
import importlib
import math
import pkgutil
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

import numpy as np

import showplan.physics
from showplan.physics.checking import checked_values
from showplan.physics.errors import NoFiniteResult, UnknownFormula
from showplan.physics.registry import (
    FloatArray,
    Formula,
    FormulaFunction,
    Numeric,
    Parameter,
    Source,
    formula,
    registered,
)

__all__ = [
    "Evaluation",
    "FloatArray",
    "Formula",
    "FormulaFunction",
    "Numeric",
    "Parameter",
    "Source",
    "catalogue",
    "evaluate",
    "formula",
]


@dataclass(frozen=True, slots=True)
class Evaluation:
    """Result of one formula with what went in (defaults included) and what to be careful about."""

    name: str
    value: float
    unit: str
    inputs: Mapping[str, float]
    source: Source
    warnings: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Ready for JSON."""
        return {
            "name": self.name,
            "value": self.value,
            "unit": self.unit,
            "inputs": dict(self.inputs),
            "source": asdict(self.source),
            "warnings": list(self.warnings),
        }


@cache
def catalogue() -> Mapping[str, Formula]:
    """Every formula by name, sorted."""
    for module in pkgutil.iter_modules(showplan.physics.__path__):
        importlib.import_module(f"showplan.physics.{module.name}")
    return MappingProxyType(dict(sorted(registered.items())))


def evaluate(name: str, values: Mapping[str, str | float]) -> Evaluation:
    """Work out one formula from numbers or their text, in the units of its parameters.

    Raises UnknownFormula; BadParameters with all faults at once; NoFiniteResult if allowed values
    together overflow. Values outside the validity range give a warning, not an error.
    """
    formulas = catalogue()
    if name not in formulas:
        raise UnknownFormula(name, difflib.get_close_matches(name, formulas, n=3, cutoff=0.6))
    wanted = formulas[name]
    inputs, warnings = checked_values(wanted, values)
    try:
        with np.errstate(all="ignore"):
            value = wanted.function(**inputs)
    except ArithmeticError as error:
        raise NoFiniteResult(f"{name}: no finite result for {inputs}: {error}") from error
    if not math.isfinite(value):
        raise NoFiniteResult(f"{name}: no finite result for {inputs}; are the units right?")
    return Evaluation(name, value, wanted.result_unit, MappingProxyType(inputs), wanted.source, warnings)
