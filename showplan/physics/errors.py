"""One tree of errors for the formula catalogue."""

from collections.abc import Iterable


class FormulaError(ValueError):
    """A formula cannot be found, given these values, or worked out; the base of all errors here."""

    @property
    def faults(self) -> tuple[str, ...]:
        """One line for each thing that was wrong."""
        return (str(self),)


class UnknownFormula(FormulaError):
    """No formula has this name; `closest` holds the nearest names, best first."""

    def __init__(self, name: str, closest: Iterable[str]) -> None:
        self.name, self.closest = name, tuple(closest)
        hint = f"did you mean {', '.join(self.closest)}?" if self.closest else "list them with 'formulas'"
        super().__init__(f"unknown formula '{name}'; {hint}")


class BadParameters(FormulaError):
    """Every fault of one request: `details` holds (parameter, what was wrong and what would be right)."""

    def __init__(self, formula_name: str, details: Iterable[tuple[str, str]]) -> None:
        self.formula_name, self.details = formula_name, tuple(details)
        super().__init__("; ".join(self.faults))

    @property
    def faults(self) -> tuple[str, ...]:
        """One line for each faulty parameter."""
        return tuple(f"{self.formula_name}: {parameter}: {message}" for parameter, message in self.details)


class NoFiniteResult(FormulaError):
    """The values are each allowed, but the formula has no finite result for them."""
