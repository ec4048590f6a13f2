"""The formula catalogue and the quick sum."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from frontend.present.words import STANDING_WORDS, number
from showplan.services.errors import InvalidInput
from showplan.services.knowledge import Formula, formula_families, formula_named, quick_sum


@dataclass(frozen=True)
class Field:
    """One parameter of the form: what it is, what was given, what was wrong with that."""

    name: str
    meaning: str
    unit: str
    limits: str
    default: str
    given: str
    faults: tuple[str, ...]


def catalogue_page() -> dict[str, Any]:
    """Every formula by family."""
    families = [
        {
            "key": family.key,
            "title": _first_sentence(family.title),
            "formulas": [_entry(one) for one in family.formulas],
        }
        for family in formula_families()
    ]
    return {"families": families, "count": sum(len(family["formulas"]) for family in families)}


def formula_page(name: str, query: Mapping[str, str]) -> dict[str, Any]:
    """One formula and, where the query gives values, its result or every fault. Raises NotFound."""
    found = formula_named(name)
    given = {key: value.strip() for key, value in query.items() if value.strip()}
    page: dict[str, Any] = {**_entry(found), "validity": found.validity}
    faults: list[tuple[str, str]] = []
    if query:
        try:
            result = quick_sum(name, {key: value.replace("−", "-") for key, value in given.items()})
        except InvalidInput as error:
            faults = [(fault.field, fault.message) for fault in error.faults]
        else:
            page["result"] = {"value": number(result.value), "unit": result.unit, "warnings": result.warnings}
    known = {parameter.name for parameter in found.parameters}
    page["fields"] = [_field(parameter, given, faults) for parameter in found.parameters]
    page["other_faults"] = [f"{key} {message}".strip() for key, message in faults if key not in known]
    page["fault_count"] = len(faults)
    return page


def _first_sentence(text: str) -> str:
    return text.partition(". ")[0]


def _entry(formula: Formula) -> dict[str, Any]:
    source = formula.source
    return {
        "name": formula.name,
        "meaning": _first_sentence(formula.meaning),
        "expression": formula.expression,
        "result_unit": formula.result_unit,
        "source": ", ".join(part for part in (source.document, source.edition, source.section) if part),
        "standing": source.standing,
        "standing_words": STANDING_WORDS[source.standing],
    }


def _field(parameter: Any, given: Mapping[str, str], faults: list[tuple[str, str]]) -> Field:
    return Field(
        name=parameter.name,
        meaning=parameter.meaning,
        unit=parameter.unit,
        limits=_limits(parameter),
        default="" if parameter.default is None else f"{parameter.default:g}",
        given=given.get(parameter.name, ""),
        faults=tuple(message for name, message in faults if name == parameter.name),
    )


def _limits(parameter: Any) -> str:
    """Expected range and hard limits in words."""
    parts = []
    if parameter.low is not None or parameter.high is not None:
        parts.append(f"valid {_range(parameter.low, parameter.high)}")
    hard_low = f"more than {number(parameter.above)}" if parameter.above is not None else ""
    hard = hard_low or (f"at least {number(parameter.minimum)}" if parameter.minimum is not None else "")
    if parameter.maximum is not None:
        hard += f"{', ' if hard else ''}at most {number(parameter.maximum)}"
    if hard:
        parts.append(f"accepted: {hard}")
    if parameter.whole_number:
        parts.append("a whole number")
    return "; ".join(parts)


def _range(low: float | None, high: float | None) -> str:
    if low is None:
        return f"up to {number(high or 0.0)}"
    return f"from {number(low)}" if high is None else f"from {number(low)} to {number(high)}"
