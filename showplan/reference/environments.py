"""Default propagation by kind of venue; a crew edits it and a walk test replaces it."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from showplan.reference.standing import Standing
from showplan.reference.table import DATA_FOLDER, Row, by_key, read_table

_COLUMNS: Final = ("key", "name", "path_loss_exponent", "shadowing_sigma_db")


@dataclass(frozen=True, slots=True)
class Environment:
    """Path-loss exponent (no unit) and standard deviation of shadowing (dB) of a kind of venue."""

    key: str
    name: str
    path_loss_exponent: float
    shadowing_sigma_db: float
    source: str
    standing: Standing
    note: str


def load_environments(path: Path) -> Mapping[str, Environment]:
    """Environments of the table at `path` by key; raises ReferenceTableError."""
    return by_key(read_table(path, _COLUMNS), _environment)


def _environment(row: Row) -> Environment:
    return Environment(
        key=row.text("key"),
        name=row.text("name"),
        path_loss_exponent=row.number("path_loss_exponent"),
        shadowing_sigma_db=row.number("shadowing_sigma_db"),
        source=row.text("source"),
        standing=row.standing,
        note=row.optional_text("note"),
    )


@cache
def environments() -> Mapping[str, Environment]:
    """Every environment by key, read once per process."""
    return load_environments(DATA_FOLDER / "environments.csv")
