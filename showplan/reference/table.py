"""Reads one reference table (CSV with a header) into checked rows."""

import csv
import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Final, NoReturn, Protocol, TypeVar

from showplan.reference.standing import STANDINGS, ReferenceTableError, Standing, UnknownKey

DATA_FOLDER: Final = Path(__file__).parent / "data"
PROVENANCE: Final = ("source", "standing", "as_of", "note")
_DATE: Final = re.compile(r"\d{4}(-\d{2}(-\d{2})?)?")


class Keyed(Protocol):
    """A record with a key that is unique in its table."""

    @property
    def key(self) -> str: ...


Value = TypeVar("Value")
KeyedRecord = TypeVar("KeyedRecord", bound=Keyed)


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table. Each reader raises ReferenceTableError with file, line and column."""

    file: str
    line: int
    cells: Mapping[str, str]

    def fail(self, column: str, fault: str) -> NoReturn:
        """Raise the error that names this line and `column`."""
        raise ReferenceTableError(self.file, self.line, column, fault)

    def optional_text(self, column: str) -> str:
        """The cell without surrounding blanks; may be empty."""
        return self.cells[column].strip()

    def text(self, column: str) -> str:
        """The cell without surrounding blanks; an empty one is an error."""
        return self.optional_text(column) or self.fail(column, "is empty; a value is required")

    def optional_number(self, column: str) -> float | None:
        """The cell as a finite number, None if empty."""
        return self.number(column) if self.optional_text(column) else None

    def number(self, column: str) -> float:
        """The cell as a finite number."""
        text = self.text(column)
        try:
            number = float(text)
        except ValueError:
            self.fail(column, f"'{text}' is not a number")
        return number if math.isfinite(number) else self.fail(column, f"'{text}' is not finite")

    def whole_number(self, column: str) -> int:
        """The cell as a whole number."""
        number = self.number(column)
        if number != int(number):
            self.fail(column, f"'{self.text(column)}' is not a whole number")
        return int(number)

    def numbers(self, column: str) -> tuple[float, ...]:
        """The cell as numbers with blanks between."""
        text = self.text(column)
        try:
            numbers = tuple(float(word) for word in text.split())
        except ValueError:
            self.fail(column, f"'{text}' is not a list of numbers with blanks between")
        if not all(map(math.isfinite, numbers)):
            self.fail(column, f"'{text}' holds a number that is not finite")
        return numbers

    def choice(self, column: str, allowed: Iterable[Value]) -> Value:
        """The cell as one of `allowed`."""
        choices = {str(value): value for value in allowed}
        text = self.text(column)
        if text not in choices:
            self.fail(column, f"'{text}' is not one of {', '.join(choices)}")
        return choices[text]

    @property
    def standing(self) -> Standing:
        """The cell `standing`."""
        return self.choice("standing", STANDINGS)

    @property
    def as_of(self) -> str:
        """The cell `as_of`: empty, YYYY, YYYY-MM or YYYY-MM-DD."""
        text = self.optional_text("as_of")
        if text and not _DATE.fullmatch(text):
            self.fail("as_of", f"'{text}' is not YYYY, YYYY-MM or YYYY-MM-DD")
        return text


def read_table(path: Path, columns: Iterable[str]) -> tuple[Row, ...]:
    """Rows of the table at `path`, whose header holds `columns` and the provenance columns.

    Raises ReferenceTableError for an unknown, missing or doubled column, a row with too many or too
    few cells, an empty source, a standing that does not exist, a malformed date or an empty table.
    """
    with path.open(encoding="utf-8", newline="") as stream:
        reader = csv.reader(stream, strict=True)
        header = next(reader, [])
        _check_header(path.name, header, (*columns, *PROVENANCE))
        rows = tuple(_checked_row(path.name, reader.line_num, header, cells) for cells in reader if cells)
    if not rows:
        raise ReferenceTableError(path.name, 1, header[0], "the table has no rows")
    return rows


def by_key(rows: Iterable[Row], build: Callable[[Row], KeyedRecord]) -> Mapping[str, KeyedRecord]:
    """Records built from `rows`, under their keys, in table order; a doubled key is an error."""
    records: dict[str, KeyedRecord] = {}
    for row in rows:
        record = build(row)
        if record.key in records:
            row.fail("key", f"'{record.key}' is already used by an earlier line")
        records[record.key] = record
    return MappingProxyType(records)


def pick(records: Mapping[str, Value], key: str, kind: str) -> Value:
    """The record under `key`; raises UnknownKey, which lists the keys of this `kind` of record."""
    if key not in records:
        raise UnknownKey(f"unknown {kind} '{key}'; known: {', '.join(records)}")
    return records[key]


def _check_header(file: str, header: list[str], expected: tuple[str, ...]) -> None:
    for place, column in enumerate(header):
        if column not in expected:
            raise ReferenceTableError(file, 1, column, f"unknown column; known: {', '.join(expected)}")
        if column in header[:place]:
            raise ReferenceTableError(file, 1, column, "the column stands twice in the header")
    for column in expected:
        if column not in header:
            raise ReferenceTableError(file, 1, column, "the column is missing from the header")


def _checked_row(file: str, line: int, header: list[str], cells: list[str]) -> Row:
    if len(cells) != len(header):
        fault = f"the row has {len(cells)} cells, the header {len(header)}"
        raise ReferenceTableError(file, line, header[min(len(cells), len(header)) - 1], fault)
    row = Row(file, line, MappingProxyType(dict(zip(header, cells, strict=True))))
    row.text("source")
    if row.standing != "memory" and row.as_of == "" and "citation" in header:
        row.fail("as_of", "is empty; a rule that was read carries the date it was read for")
    return row
