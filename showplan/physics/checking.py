"""Checks the values given to a formula: all faults at once, warnings outside the validity range."""

import difflib
import math
from collections.abc import Iterator, Mapping

from showplan.physics.errors import BadParameters
from showplan.physics.registry import Formula, Parameter


def checked_values(formula: Formula, values: Mapping[str, str | float]) -> tuple[dict[str, float], tuple[str, ...]]:
    """Values by parameter name with defaults filled in, and the warnings.

    Raises BadParameters with every unknown, missing, non-numeric, non-finite and out-of-domain value.
    """
    known = [parameter.name for parameter in formula.parameters]
    faults = [(name, _unknown(name, known)) for name in values if name not in known]
    inputs: dict[str, float] = {}
    for parameter in formula.parameters:
        given = values.get(parameter.name, parameter.default)
        if given is None:
            faults.append((parameter.name, f"is missing; {_wanted(parameter)}"))
            continue
        number = _number(given)
        fault = "is not a finite number" if number is None else _domain_fault(parameter, number)
        if number is None or fault:
            faults.append((parameter.name, f"'{given}' {fault}; {_wanted(parameter)}"))
        else:
            inputs[parameter.name] = number
    if faults:
        raise BadParameters(formula.name, faults)
    return inputs, tuple(_warnings(formula, inputs))


def _unknown(name: str, known: list[str]) -> str:
    closest = difflib.get_close_matches(name, known, n=1)
    hint = f"did you mean {closest[0]}? " if closest else ""
    return f"is not a parameter of this formula; {hint}known: {', '.join(known)}"


def _wanted(parameter: Parameter) -> str:
    kind = "a whole number" if parameter.whole_number else "a number"
    return f"give {kind} in {parameter.unit or 'no unit'} ({parameter.meaning})"


def _number(given: str | float) -> float | None:
    try:
        number = float(given)
    except (TypeError, ValueError, OverflowError):
        return None
    return number if math.isfinite(number) and not isinstance(given, bool) else None


def _domain_fault(parameter: Parameter, number: float) -> str:
    if parameter.whole_number and number != math.floor(number):
        return "is not a whole number"
    if parameter.above is not None and number <= parameter.above:
        return f"must be more than {parameter.above:g}"
    if parameter.minimum is not None and number < parameter.minimum:
        return f"must be at least {parameter.minimum:g}"
    if parameter.maximum is not None and number > parameter.maximum:
        return f"must be at most {parameter.maximum:g}"
    return ""


def _warnings(formula: Formula, inputs: Mapping[str, float]) -> Iterator[str]:
    for parameter in formula.parameters:
        number = inputs[parameter.name]
        limit = ""
        if parameter.low is not None and number < parameter.low:
            limit = f"below {parameter.low:g}"
        elif parameter.high is not None and number > parameter.high:
            limit = f"above {parameter.high:g}"
        if limit:
            given = f"{parameter.name} = {number:g} {parameter.unit}".rstrip()
            yield f"{given} is {limit}, outside the validity range: {formula.validity}"
