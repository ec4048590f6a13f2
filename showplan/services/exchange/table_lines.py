"""CSV text (RFC 4180) as lines of cells: separator, byte order mark, header, and what is wrong with any of them."""

import csv
import io
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from showplan.services.errors import CellFault, InvalidTable

MOST_LINES = 5_000
SEPARATORS = ",;"


@dataclass(frozen=True)
class Line:
    """One line's cells by column, and the number of the text line it begins on."""

    number: int
    cells: dict[str, str]


def lines_of(text: str | bytes, known: Sequence[str], most: int = MOST_LINES) -> list[Line]:
    """The lines below the header. Raises InvalidTable with every fault of the table's outside."""
    rows = _rows(_decoded(text))
    header = next(rows, None)
    if header is None:
        raise InvalidTable([CellFault(1, "", f"the table is empty; its first line names columns: {', '.join(known)}")])
    columns = [name.strip() for name in header[1]]
    _refuse_columns(columns, known, header[0])
    lines: list[Line] = []
    faults: list[CellFault] = []
    for number, cells in rows:
        if not any(cells):
            continue
        if len(lines) >= most:
            raise InvalidTable([CellFault(number, "", f"a table has at most {most} lines: split it")])
        if len(cells) != len(columns):
            faults.append(CellFault(number, "", f"has {len(cells)} cells, the header has {len(columns)}"))
        lines.append(Line(number, dict(zip(columns, cells, strict=False))))
    if faults:
        raise InvalidTable(faults)
    return lines


def _decoded(text: str | bytes) -> str:
    if isinstance(text, str):
        return text.removeprefix("\ufeff")
    try:
        return text.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = text[: error.start].count(b"\n") + 1
        raise InvalidTable([CellFault(line, "", "this is not UTF-8: save the table as CSV in UTF-8")]) from None


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Each row with the number of the text line it begins on."""
    header = text.split("\n", 1)[0]
    separator = max(SEPARATORS, key=header.count)  # the comma where there is neither
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    begins = 1
    try:
        for row in reader:
            yield begins, row
            begins = reader.line_num + 1
    except csv.Error as error:
        raise InvalidTable([CellFault(begins, "", f"the quotes or line ends are wrong: {error}")]) from None


def _refuse_columns(columns: Sequence[str], known: Sequence[str], number: int) -> None:
    listed = f"known: {', '.join(known)}"
    counts = Counter(columns)
    faults = [
        CellFault(number, name[:80], "a column has no name" if not name else f"is no column here; {listed}")
        for name in counts
        if name not in known
    ]
    faults += [CellFault(number, name, "stands twice in the header") for name, n in counts.items() if n > 1 and name]
    if faults:
        raise InvalidTable(faults)
