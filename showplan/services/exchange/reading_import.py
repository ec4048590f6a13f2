"""Reading walk-test readings from a CSV table: every line a new reading, but for those that are there already.

A line gives the position (level, x_m, y_m, height_m), or in `at_node` a node that stands at a fixed point here: then
the reading was taken there. What is stored is the position, so the reading stays where it was when the node moves on.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from showplan.records.base import Record
from showplan.records.models import Placement, Reading, Venue
from showplan.services.editing import Actor, Edit, edit
from showplan.services.errors import CellFault, InvalidInput, InvalidTable
from showplan.services.exchange.forms import is_required, name_of
from showplan.services.exchange.table_cells import as_text, read_cell
from showplan.services.exchange.table_import import PORTION
from showplan.services.exchange.table_lines import Line, lines_of
from showplan.services.exchange.table_reports import TableReport, TableRow, Undone, at_line
from showplan.services.exchange.values import ValueFault, plain, shown
from showplan.services.nouns import Noun, by_path
from showplan.services.rights import Caller, refuse_unless_editor

READINGS: Final = by_path()["readings"]
AT_NODE: Final = "at_node"
POSITION: Final = ("level", "x_m", "y_m", "height_m")
# Two readings that agree in these are of the same moment: the planner takes one of them only.
MOMENT: Final = (*POSITION, "transmitter", "receiver_type", "taken_at")
MEASURED: Final = ("received_dbm", "packet_error")

Values = Mapping[str, Any]


def import_readings(caller: Caller, venue: Venue, text: str | bytes, *, dry_run: bool = False) -> TableReport:
    """Write the table's readings into the venue. Raises NotFound, NotAllowed, InvalidTable with every fault."""
    refuse_unless_editor(caller, venue.project)
    return add_readings(venue, caller.actor(), text, dry_run=dry_run)


def add_readings(venue: Venue, actor: Actor, text: str | bytes, *, dry_run: bool = False) -> TableReport:
    """The same without a look at anybody's rights; for the command line."""
    project = venue.project
    lines = lines_of(text, [AT_NODE, *(field.name for field in READINGS.fields)])
    revision = project.revision
    table = _Readings(venue)
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


class _Readings:
    """One import: reads lines into pending readings, then writes those."""

    def __init__(self, venue: Venue) -> None:
        self.venue = venue
        self.faults: list[CellFault] = []
        self.new: list[tuple[Line, Reading, tuple[str, ...]]] = []
        self.unchanged = 0

    def read(self, lines: Sequence[Line]) -> None:
        """Compare every line with what is there; one query for each kind of record. Raises InvalidTable."""
        self._known = {name: _by_name(target, self.venue) for name, target in READINGS.targets.items()}
        here = Placement.objects.filter(venue=self.venue).select_related("node", "level", "zone")
        self._places = {place.node.label: place for place in here}
        there: dict[tuple[Any, ...], tuple[Values, str]] = {}
        for record in READINGS.within(self.venue).order_by():
            there[_moment(_ids(record))] = (_ids(record), "stands in the venue")
        for line in lines:
            values = self._values(line)
            if values is not None:
                self._sort_in(line, values, there)
        self._refuse_faults()

    def write(self, change: Edit) -> None:
        """Create the new ones. Raises InvalidTable with the faults of every record."""
        for start in range(0, len(self.new), PORTION):
            portion = self.new[start : start + PORTION]
            try:
                change.create([record for _, record, _ in portion])
            except InvalidInput as error:
                self.faults += [at_line(fault, [line for line, _, _ in portion]) for fault in error.faults]
        self._refuse_faults()

    def report(self, *, dry_run: bool, revision: int) -> TableReport:
        """What was done, in order of lines."""
        rows = tuple(TableRow(line.number, _called(record), "create", fields) for line, record, fields in self.new)
        return TableReport(dry_run, rows, self.unchanged, revision)

    def _values(self, line: Line) -> dict[str, Any] | None:
        """The reading's values; None where a cell has a fault."""
        before, values = len(self.faults), dict[str, Any]()
        at_node = line.cells.get(AT_NODE, "") != ""
        for field in READINGS.fields:
            cell = line.cells.get(field.name)
            if at_node and field.name in POSITION:
                if cell:
                    self._fault(line, field.name, f"leave this empty where {AT_NODE} says the place")
            elif cell is None:
                if is_required(field):
                    or_node = f", or {AT_NODE}" if field.name in POSITION else ""
                    self._fault(line, field.name, f"this column is missing: a reading needs it{or_node}")
            else:
                self._attempt(line, field.name, values, lambda f=field, c=cell: self._read(f, c))  # type: ignore[misc]
        if at_node:
            self._attempt(line, AT_NODE, values, lambda: self._place(as_text(line.cells[AT_NODE]), values))
        self._attempt(line, "received_dbm", values, lambda: _refuse_louder_than_sent(values))
        return values if len(self.faults) == before else None

    def _attempt(self, line: Line, column: str, values: dict[str, Any], read: Callable[[], Values]) -> None:
        try:
            values |= read()
        except ValueFault as fault:
            self._fault(line, column, str(fault))

    def _read(self, field: Any, cell: str) -> Values:
        if field.name not in self._known or cell == "":
            return {field.name: read_cell(field, cell)}
        known, name = self._known[field.name], as_text(cell)
        if name not in known:
            where = "venue" if READINGS.targets[field.name].parent == "venue" else "project"
            raise ValueFault(f"there is no {READINGS.targets[field.name].singular} {shown(name)} in the {where}")
        return {field.name: known[name]}

    def _place(self, label: str, values: Values) -> Values:
        """The position of a node that stands in this venue."""
        if label not in self._known["transmitter"]:
            raise ValueFault(f"there is no node {shown(label)} in the project")
        if label not in self._places:
            raise ValueFault(f"node {shown(label)} has no place in this venue: place it, or give the position")
        place = self._places[label]
        if place.zone is not None:
            raise ValueFault(f"node {shown(label)} moves in zone {shown(place.zone.name)}: give the position")
        if "transmitter" in values and name_of(values["transmitter"]) == label:
            raise ValueFault(f"node {shown(label)} is the transmitter itself")
        level = self._known["level"][place.level.name]
        return {"level": level, "x_m": place.x_m, "y_m": place.y_m, "height_m": place.height_m}

    def _sort_in(self, line: Line, values: dict[str, Any], there: dict[tuple[Any, ...], tuple[Values, str]]) -> None:
        record = Reading(**values)
        READINGS.adopt(record, self.venue)
        ids = _ids(record)
        earlier, where = there.setdefault(_moment(ids), (ids, f"stands in line {line.number}"))
        if earlier is ids:
            self.new.append((line, record, tuple(values)))
        elif all(earlier[name] == ids[name] for name in MEASURED):
            self.unchanged += 1
        else:
            measured = ", ".join(f"{name} {'empty' if earlier[name] is None else earlier[name]}" for name in MEASURED)
            what = f"a reading of the same transmitter, place, receiver and time {where}, with {measured}"
            self._fault(line, "taken_at", f"{what}: correct one, or give another time")

    def _fault(self, line: Line, column: str, detail: str) -> None:
        self.faults.append(CellFault(line.number, column, detail))

    def _refuse_faults(self) -> None:
        if self.faults:
            raise InvalidTable(sorted(self.faults, key=lambda fault: fault.line))


def _refuse_louder_than_sent(values: Values) -> Values:
    sender, received_dbm = values.get("transmitter"), values.get("received_dbm")
    if sender is not None and received_dbm is not None and received_dbm > sender.node_type.transmit_power_dbm:
        sent_dbm = sender.node_type.transmit_power_dbm
        raise ValueFault(f"{received_dbm:g} dBm is more than {shown(sender.label)} sends, {sent_dbm:g} dBm")
    return {}


def _by_name(noun: Noun, venue: Venue) -> dict[str, Record]:
    parent = venue if noun.parent == "venue" else venue.project
    found = {name_of(record): record for record in noun.loaded(parent)}
    for record in found.values():
        noun.adopt(record, parent)
    return found


def _ids(record: Any) -> Values:
    """What tells one reading from another, references by their keys."""
    references = {name: getattr(record, f"{name}_id") for name in ("level", "transmitter", "receiver_type")}
    return {name: getattr(record, name) for name in (*MOMENT, *MEASURED) if name not in references} | references


def _moment(ids: Values) -> tuple[Any, ...]:
    return tuple(ids[name] for name in MOMENT)


def _called(reading: Reading) -> str:
    place = f"({reading.x_m:g}, {reading.y_m:g}) m on {reading.level.name}"
    return f"{reading.transmitter.label} at {place}, {plain(reading.taken_at)}"
