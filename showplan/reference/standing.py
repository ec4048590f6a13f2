"""How far a reference figure can be trusted, and the errors of the reference tables."""

from typing import Final, Literal, get_args

Standing = Literal["read", "memory", "derived"]
"""`read`: seen in a published text. `memory`: remembered, to be checked by a person before it is
relied on. `derived`: computed from figures that were read."""

STANDINGS: Final[tuple[Standing, ...]] = get_args(Standing)


class ReferenceTableError(ValueError):
    """A reference table is faulty; names the file, the line (header = 1) and the column."""

    def __init__(self, file: str, line: int, column: str, fault: str) -> None:
        self.file, self.line, self.column, self.fault = file, line, column, fault
        super().__init__(f"{file}, line {line}, column '{column}': {fault}")


class ReferenceLookupError(LookupError):
    """A question the reference tables cannot answer; the base of every look-up error here."""


class UnknownKey(ReferenceLookupError):
    """No row has this key; the message lists the keys there are."""


class UnknownRadioChannel(ReferenceLookupError):
    """The PHY has no such radio channel; the message names the allowed ones."""


class OutsideTable(ReferenceLookupError):
    """The frequency is outside the range the table may be asked for."""
