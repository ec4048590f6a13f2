"""Tables whose columns are the fields of a record: the dataclass is the whole description."""

import dataclasses
import types
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, ClassVar, Final, Literal, Protocol, TypeVar, Union, get_args, get_origin, get_type_hints

from showplan.reference.standing import Standing
from showplan.reference.table import PROVENANCE, Keyed, Row, by_key, read_table

_YES_OR_NO: Final = ("yes", "no")


class Record(Protocol):
    """A frozen dataclass that ends with where it is from."""

    __dataclass_fields__: ClassVar[dict[str, dataclasses.Field[Any]]]

    @property
    def source(self) -> str: ...
    @property
    def standing(self) -> Standing: ...
    @property
    def note(self) -> str: ...


class KeyedRecord(Record, Keyed, Protocol):
    """A record with a key."""


AnyRecord = TypeVar("AnyRecord", bound=Record)
AnyKeyed = TypeVar("AnyKeyed", bound=KeyedRecord)


def load_rows(path: Path, kind: type[AnyRecord]) -> tuple[AnyRecord, ...]:
    """Rows of the table at `path`, one `kind` each; raises ReferenceTableError.

    A column is read as its field is typed: text (which may be empty if the field's default is), a number, a whole
    number, either of these or empty (None), yes or no, one of the words of a Literal, numbers with blanks between.
    """
    build = _builder(kind)
    return tuple(build(row) for row in read_table(path, _columns(kind)))


def load_keyed(path: Path, kind: type[AnyKeyed]) -> Mapping[str, AnyKeyed]:
    """The same under their keys; a doubled key is an error."""
    return by_key(read_table(path, _columns(kind)), _builder(kind))


def _columns(kind: type[Record]) -> tuple[str, ...]:
    return tuple(field.name for field in dataclasses.fields(kind) if field.name not in PROVENANCE)


def _builder(kind: type[AnyRecord]) -> Callable[[Row], AnyRecord]:
    hints = get_type_hints(kind)
    readers = {field.name: _reader(hints[field.name], field.default) for field in dataclasses.fields(kind)}
    if "as_of" in readers:
        readers["as_of"] = lambda row, _: row.as_of

    def build(row: Row) -> AnyRecord:
        return kind(**{name: reader(row, name) for name, reader in readers.items()})

    return build


def _reader(hint: Any, default: Any) -> Callable[[Row, str], Any]:
    if get_origin(hint) is Literal:
        return lambda row, column: row.choice(column, get_args(hint))
    if get_origin(hint) is tuple:
        return Row.numbers
    if get_origin(hint) in (Union, types.UnionType):
        (inner,) = (one for one in get_args(hint) if one is not types.NoneType)
        return lambda row, column: _reader(inner, None)(row, column) if row.optional_text(column) else None
    if hint is bool:
        return lambda row, column: row.choice(column, _YES_OR_NO) == "yes"
    if hint is str:
        return Row.optional_text if default == "" else Row.text
    return {float: Row.number, int: Row.whole_number}[hint]
