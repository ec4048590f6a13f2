"""Timelines as a CSV table: a line for each row, with the timeline's name in front."""

from collections.abc import Sequence
from typing import Final

from showplan.records.models import Project, ShowTimeline
from showplan.services.editing import Edit
from showplan.services.errors import CellFault, InvalidInput, InvalidTable
from showplan.services.exchange.table_cells import as_text, written
from showplan.services.exchange.table_lines import Line
from showplan.services.exchange.table_reports import TableReport, TableRow, at_line
from showplan.services.nouns import by_path
from showplan.timelines import MOST_ROWS, Row, RowFault, in_order, read_row, read_rows, repeated, too_many

TIMELINES: Final = by_path()["timelines"]
COLUMNS: Final = ("timeline", "time_s", "slot", "level")
MOST_LINES: Final = 5 * MOST_ROWS


def cells_of(project: Project) -> list[list[str]]:
    """The header and the rows of all timelines, in order of name and time."""
    found = [list(COLUMNS)]
    timelines = ShowTimeline.objects.filter(project=project)
    for name, text in timelines.order_by("name", "id").values_list("name", "rows"):
        found += [[written(name), *line.split(",")] for line in text.split("\n")]
    return found


class TimelineTable:
    """One import: a timeline in the table is made, or has its rows replaced by the table's; others stay."""

    columns = COLUMNS
    most_lines = MOST_LINES

    def __init__(self, project: Project) -> None:
        self.project = project
        self.faults: list[CellFault] = []
        self.unchanged = 0
        self._new: list[tuple[Line, ShowTimeline]] = []
        self._changed: list[tuple[Line, ShowTimeline, str]] = []

    def read(self, lines: Sequence[Line]) -> None:
        """Sort the rows in by timeline; one query. Raises InvalidTable with every fault of every line."""
        missing = [name for name in COLUMNS if lines and name not in lines[0].cells]
        if missing:
            raise InvalidTable([CellFault(1, name, "this column is missing") for name in missing])
        rows: dict[str, dict[tuple[float, int], tuple[Row, Line]]] = {}
        for line in lines:
            self._read(line, rows)
        self._refuse_faults()
        there = {one.name: one for one in ShowTimeline.objects.filter(project=self.project)}
        for name, its in rows.items():
            text = in_order([row for row, _ in its.values()]).as_text()
            first = next(iter(its.values()))[1]
            known = there.get(name)
            if known is None:
                self._new.append((first, ShowTimeline(project=self.project, name=name, rows=text)))
            elif read_rows(known.rows).as_text() != text:
                known.project = self.project
                self._changed.append((first, known, text))
            else:
                self.unchanged += 1

    def write(self, change: Edit) -> None:
        """Create and update. Raises InvalidTable."""
        try:
            change.create([timeline for _, timeline in self._new])
        except InvalidInput as error:
            self.faults += [at_line(fault, [line for line, _ in self._new]) for fault in error.faults]
        self._refuse_faults()
        change.update_many([(timeline, {"rows": text}, None) for _, timeline, text in self._changed])

    def report(self, *, dry_run: bool, revision: int) -> TableReport:
        """What was done, timeline by timeline, each with its first line."""
        made = [TableRow(line.number, one.name, "create", ("name", "rows")) for line, one in self._new]
        made += [TableRow(line.number, one.name, "update", ("rows",)) for line, one, _ in self._changed]
        return TableReport(dry_run, tuple(sorted(made, key=lambda row: row.line)), self.unchanged, revision)

    def _read(self, line: Line, rows: dict[str, dict[tuple[float, int], tuple[Row, Line]]]) -> None:
        name = as_text(line.cells["timeline"])
        try:
            row = read_row(line.number, *(line.cells[column] for column in COLUMNS[1:]))
        except RowFault as fault:
            self._fault(line, fault.column, fault.detail)
            return
        its = rows.setdefault(name, {})
        if len(its) == MOST_ROWS:
            self._fault(line, "", f"the number of rows of {name!r} {too_many()}")
            self._refuse_faults()
        earlier = its.setdefault(row[:2], (row, line))[1]
        if not name:
            self._fault(line, "timeline", "must not be empty: it names the timeline")
        elif earlier is not line:
            self._fault(line, "slot", f"{repeated(row)}, in line {earlier.number}")

    def _fault(self, line: Line, column: str, detail: str) -> None:
        self.faults.append(CellFault(line.number, column, detail))

    def _refuse_faults(self) -> None:
        if self.faults:
            raise InvalidTable(sorted(self.faults, key=lambda fault: fault.line))
