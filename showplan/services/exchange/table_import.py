"""Reading a CSV table into the kit: new labels are made, known ones changed where a cell differs; all or nothing."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from showplan.records.base import Record
from showplan.records.models import Project
from showplan.services.editing import Actor, Edit, edit
from showplan.services.errors import CellFault, InvalidInput, InvalidTable
from showplan.services.exchange.forms import is_required, name_of
from showplan.services.exchange.table_cells import as_text, read_cell
from showplan.services.exchange.table_lines import MOST_LINES, Line, lines_of
from showplan.services.exchange.table_reports import TableReport, TableRow, Undone, at_line
from showplan.services.exchange.timeline_table import TIMELINES, TimelineTable
from showplan.services.exchange.values import ValueFault, shown
from showplan.services.nouns import Noun, by_path
from showplan.services.rights import Caller, refuse_unless_editor

TABLE_NOUNS = (by_path()["nodes"], by_path()["loads"], TIMELINES)
# Changed records are written in portions: one statement must not carry the values of a whole table.
PORTION = 500
Names = Mapping[str, Record]


@dataclass(frozen=True)
class _Pending:
    line: Line
    record: Record
    values: Mapping[str, Any]


def import_table(
    caller: Caller, noun: Noun, project: Project, text: str | bytes, *, dry_run: bool = False
) -> TableReport:
    """Write the table's lines into the project. A column that is absent is kept, an empty cell clears.

    Raises NotFound, NotAllowed, InvalidTable with every fault of every line.
    """
    refuse_unless_editor(caller, project)
    return add_table(noun, project, caller.actor(), text, dry_run=dry_run)


def add_table(noun: Noun, project: Project, actor: Actor, text: str | bytes, *, dry_run: bool = False) -> TableReport:
    """The same without a look at anybody's rights; for the command line."""
    table = TimelineTable(project) if noun is TIMELINES else _Table(noun, project)
    lines = lines_of(text, table.columns, table.most_lines)
    revision = project.revision
    try:
        with edit(project, actor) as change:
            table.read(lines)
            table.write(change)
            revision = project.revision
            if dry_run:
                raise Undone
    except Undone:
        return table.report(dry_run=True, revision=revision)
    return table.report(dry_run=False, revision=project.revision)


class _Table:
    """One import: reads lines into pending records, then writes those."""

    most_lines = MOST_LINES

    def __init__(self, noun: Noun, project: Project) -> None:
        self.noun, self.project = noun, project
        self.columns = tuple(field.name for field in noun.fields)
        self.faults: list[CellFault] = []
        self.new: list[_Pending] = []
        self.changed: list[_Pending] = []
        self.unchanged = 0

    def read(self, lines: Sequence[Line]) -> None:
        """Compare every line with what is there; one query for each kind of record. Raises InvalidTable."""
        names = {name: _by_name(target, self.project) for name, target in self.noun.targets.items()}
        there, seen = _by_name(self.noun, self.project), dict[str, int]()
        key = self.noun.model.natural_key
        if lines and key not in lines[0].cells:
            raise InvalidTable([CellFault(1, key, "this column is missing: it says which record a line is about")])
        for line in lines:
            label = as_text(line.cells[key])
            if label in seen:
                self._fault(line, key, f"{shown(label)} stands in line {seen[label]} already")
                continue
            seen[label] = line.number
            self._read(line, there.get(label), names)
        self._refuse_faults()

    def write(self, change: Edit) -> None:
        """Create and update. Raises InvalidTable with the faults of every record."""
        self._attempt(self.new, lambda rows: change.create([row.record for row in rows]))
        for start in range(0, len(self.changed), PORTION):
            portion = self.changed[start : start + PORTION]
            self._attempt(portion, lambda rows: change.update_many([(row.record, row.values, None) for row in rows]))
        self._refuse_faults()

    def report(self, *, dry_run: bool, revision: int) -> TableReport:
        """What was done, in order of lines."""
        made = [TableRow(row.line.number, name_of(row.record), "create", tuple(row.values)) for row in self.new]
        made += [TableRow(row.line.number, name_of(row.record), "update", tuple(row.values)) for row in self.changed]
        return TableReport(dry_run, tuple(sorted(made, key=lambda row: row.line)), self.unchanged, revision)

    def _read(self, line: Line, record: Record | None, names: Mapping[str, Names]) -> None:
        before, values = len(self.faults), dict[str, Any]()
        for field in self.noun.fields:
            cell = line.cells.get(field.name)
            if cell is None:
                if record is None and is_required(field):
                    self._fault(line, field.name, f"this column is missing: a new {self.noun.singular} needs it")
                continue
            try:
                if field.name in names and cell != "":
                    values[field.name] = _named(self.noun.targets[field.name], names[field.name], as_text(cell))
                else:
                    values[field.name] = read_cell(field, cell)
            except ValueFault as fault:
                self._fault(line, field.name, str(fault))
        if len(self.faults) == before:
            self._sort_in(line, record, values)

    def _sort_in(self, line: Line, record: Record | None, values: Mapping[str, Any]) -> None:
        if record is None:
            new = self.noun.model(**values)
            self.noun.adopt(new, self.project)
            self.new.append(_Pending(line, new, values))
            return
        changed = {name: value for name, value in values.items() if getattr(record, name) != value}
        if changed:
            self.changed.append(_Pending(line, record, changed))
        else:
            self.unchanged += 1

    def _attempt(self, rows: Sequence[_Pending], write: Callable[[Sequence[_Pending]], Any]) -> None:
        try:
            write(rows)
        except InvalidInput as error:
            lines = [row.line for row in rows]
            self.faults += [at_line(fault, lines) for fault in error.faults]

    def _fault(self, line: Line, column: str, detail: str) -> None:
        self.faults.append(CellFault(line.number, column, detail))

    def _refuse_faults(self) -> None:
        if self.faults:
            raise InvalidTable(sorted(self.faults, key=lambda fault: fault.line))


def _by_name(noun: Noun, project: Project) -> Names:
    found = {name_of(record): record for record in noun.loaded(project)}
    for record in found.values():
        noun.adopt(record, project)
    return found


def _named(target: Noun, known: Names, name: str) -> Record:
    if name not in known:
        raise ValueFault(f"there is no {target.singular} {shown(name)} in the project")
    return known[name]
