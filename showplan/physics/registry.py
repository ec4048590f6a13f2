"""Records of the formula catalogue and the decorator that fills it."""

import functools
import inspect
from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any, Final, Protocol, overload

import numpy as np
import numpy.typing as npt

from showplan.reference.standing import Standing

FloatArray = npt.NDArray[np.floating[Any]]
Numeric = float | FloatArray
"""A number or an array of any shape; several arrays in one call broadcast."""


class FormulaFunction(Protocol):
    """A registered formula: numbers give a number; as soon as one argument is an array, an array."""

    __name__: str

    @overload
    # an all-number call fits both; mypy takes the first, which is what happens
    def __call__(self, *args: float, **kwargs: float) -> float: ...  # type: ignore[overload-overlap]
    @overload
    def __call__(
        self, *args: float | npt.NDArray[np.float64], **kwargs: float | npt.NDArray[np.float64]
    ) -> npt.NDArray[np.float64]: ...
    @overload
    def __call__(self, *args: Numeric, **kwargs: Numeric) -> FloatArray: ...


@dataclass(frozen=True, slots=True)
class Source:
    """Where a formula stands, and whether that text was read, remembered or the formula derived."""

    document: str
    edition: str = ""
    section: str = ""
    standing: Standing = "memory"


@dataclass(frozen=True, slots=True)
class Parameter:
    """One argument. Outside low..high: warning. Below minimum, not above `above`, over maximum: error."""

    name: str
    unit: str
    meaning: str
    default: float | None = None
    low: float | None = None
    high: float | None = None
    minimum: float | None = None
    maximum: float | None = None
    above: float | None = None
    whole_number: bool = False


@dataclass(frozen=True, slots=True)
class Formula:
    """One published formula with its units, its source and the function that works it out."""

    name: str
    meaning: str
    expression: str
    parameters: tuple[Parameter, ...]
    result_unit: str
    source: Source
    validity: str
    function: FormulaFunction

    def as_dict(self) -> dict[str, Any]:
        """Everything but the function, ready for JSON."""
        return {
            "name": self.name,
            "meaning": self.meaning,
            "expression": self.expression,
            "parameters": [asdict(parameter) for parameter in self.parameters],
            "result_unit": self.result_unit,
            "source": asdict(self.source),
            "validity": self.validity,
        }


registered: Final[dict[str, Formula]] = {}
"""Formulas of the modules imported so far; read it through `catalogue.catalogue()`."""


def formula(
    *, expression: str, parameters: tuple[Parameter, ...], result_unit: str, source: Source, validity: str
) -> Callable[[Callable[..., Numeric]], FormulaFunction]:
    """Register the decorated function under its own name; its docstring's first line is the meaning.

    Raises ValueError if the name is taken, the docstring is missing, or `parameters` differs from the
    signature in names, order or defaults.
    """

    def register(function: Callable[..., Numeric]) -> FormulaFunction:
        name = function.__name__
        _check(function, parameters)
        meaning = (inspect.getdoc(function) or "").partition("\n")[0].rstrip(".")

        @functools.wraps(function)
        def plain(*args: Numeric, **kwargs: Numeric) -> Any:
            result = function(*args, **kwargs)
            # numpy hands back its own scalar types for numbers; callers get a number for numbers
            return result if isinstance(result, np.ndarray) else float(result)

        registered[name] = Formula(name, meaning, expression, parameters, result_unit, source, validity, plain)
        return plain

    return register


def _check(function: Callable[..., Numeric], parameters: tuple[Parameter, ...]) -> None:
    name = function.__name__
    if name in registered:
        raise ValueError(f"formula '{name}' is registered twice")
    if not inspect.getdoc(function):
        raise ValueError(f"formula '{name}' has no docstring; its first line is the meaning")
    signature = [
        (argument.name, None if argument.default is inspect.Parameter.empty else argument.default)
        for argument in inspect.signature(function).parameters.values()
    ]
    declared = [(parameter.name, parameter.default) for parameter in parameters]
    if signature != declared:
        raise ValueError(f"formula '{name}' declares {declared} but its signature is {signature}")
