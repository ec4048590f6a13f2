"""The formula catalogue and the reference tables, for pages and API."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from showplan import reference
from showplan.physics.catalogue import Evaluation, catalogue, evaluate
from showplan.physics.errors import BadParameters, FormulaError, UnknownFormula
from showplan.reference import regions
from showplan.services.errors import FieldFault, InvalidInput, NotFound

TABLES = ("materials", "phys", "regions", "region-rules", "environments", "body-losses")


def formulas() -> list[dict[str, Any]]:
    """Every formula of the catalogue."""
    return [formula.as_dict() for formula in catalogue().values()]


def formula_named(name: str) -> dict[str, Any]:
    """One formula. Raises NotFound."""
    found = catalogue().get(name)
    if found is None:
        raise NotFound(f"there is no formula {name!r}; the catalogue lists them")
    return found.as_dict()


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


def table_named(name: str) -> list[dict[str, Any]]:
    """The rows of a reference table as JSON values, each with source and standing. Raises NotFound."""
    match name:
        case "materials" | "phys" | "regions" | "environments":
            return [asdict(row) for row in getattr(reference, name)().values()]
        case "region-rules":
            return [asdict(rule) for key in regions() for rule in reference.region_rules(key)]
        case "body-losses":
            return [asdict(row) for row in reference.body_losses()]
    raise NotFound(f"there is no table {name!r}; known: {', '.join(TABLES)}")
