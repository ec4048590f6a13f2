"""What can go wrong in a service, in the words a person needs."""

from collections.abc import Iterable
from dataclasses import dataclass

from showplan.planner.faults import Fault as SceneFault


class ServiceError(Exception):
    """Base of every error a service raises on purpose."""


@dataclass(frozen=True)
class FieldFault:
    """One thing wrong with one field of one row; `row` is None for a single record, `field` empty for the record.

    `part` names the part of a bulk write ('create', 'update') whose rows are counted.
    """

    field: str
    message: str
    row: int | None = None
    part: str = ""


class InvalidInput(ServiceError):
    """Input that would break a rule. Nothing was written; `faults` holds every reason found."""

    def __init__(self, faults: Iterable[FieldFault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(_in_words(fault) for fault in self.faults))


class InvalidDocument(ServiceError):
    """A JSON document that cannot be imported. Nothing was written; `faults` name each place by its JSON pointer."""

    def __init__(self, faults: Iterable[SceneFault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(str(fault) for fault in self.faults))


@dataclass(frozen=True)
class CellFault:
    """One thing wrong with a table: `line` counts from 1, the header's; `column` is empty for a whole line."""

    line: int
    column: str
    detail: str

    def __str__(self) -> str:
        return f"line {self.line}, {self.column}: {self.detail}" if self.column else f"line {self.line}: {self.detail}"


class InvalidTable(ServiceError):
    """A CSV text that cannot be imported. Nothing was written; `faults` holds every reason found."""

    def __init__(self, faults: Iterable[CellFault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(str(fault) for fault in self.faults))


class StaleWrite(ServiceError):
    """Someone else was faster: the record has a newer version than the one this write was based on."""

    def __init__(self, noun: str, name: str, based_on: int, now: int) -> None:
        self.based_on, self.now = based_on, now
        super().__init__(f"{noun} {name!r} changed meanwhile: you had version {based_on}, it is now version {now}")


class StillInUse(ServiceError):
    """A record that others point to cannot be deleted."""


class RuleBroken(ServiceError):
    """The records are fine, what they would add up to is not; the text says what to do first."""


class NotFound(ServiceError):
    """No such thing, or not yours: the two are not told apart."""


class NotAllowed(ServiceError):
    """Yours to see, not to change; the text names the right that is missing."""


def _in_words(fault: FieldFault) -> str:
    where = f"row {fault.row + 1}, " if fault.row is not None else ""
    return f"{where}{fault.field}: {fault.message}" if fault.field else f"{where}{fault.message}"


class PlanImpossible(ServiceError):
    """The records of a venue break a rule that the planner needs; `faults` name each place in the Scene."""

    def __init__(self, faults: tuple[SceneFault, ...]) -> None:
        self.faults = faults
        super().__init__("\n".join(str(fault) for fault in faults))
