"""What a table did when it was read in: the report, and where a fault lies."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from showplan.services.errors import CellFault, FieldFault
from showplan.services.exchange.table_lines import Line


@dataclass(frozen=True)
class TableRow:
    """What became of one line: made or changed, with the fields that were set."""

    line: int
    label: str
    action: Literal["create", "update"]
    fields: tuple[str, ...]


@dataclass(frozen=True)
class TableReport:
    """What an import did, or with `dry_run` would do; `revision` is the project's afterwards."""

    dry_run: bool
    rows: tuple[TableRow, ...]
    unchanged: int
    revision: int

    def count(self, action: str) -> int:
        """How many lines were made or changed."""
        return sum(row.action == action for row in self.rows)


class Undone(Exception):
    """Ends a dry run: the transaction is taken back."""


def at_line(fault: FieldFault, lines: Sequence[Line]) -> CellFault:
    """Where the database refused without saying which row, the first of those that were written together."""
    return CellFault(lines[fault.row or 0].number, fault.field, fault.message)
