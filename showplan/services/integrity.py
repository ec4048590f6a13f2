"""What the database refused, in words: for the rare write that passes the checks and meets another one half-way."""

import re

from django.db import IntegrityError, models

from showplan.records.base import Record, constraint_fields
from showplan.records.guards import read_guard_message
from showplan.services.errors import FieldFault


def fault_of(error: IntegrityError, model: type[Record]) -> FieldFault:
    """The rule behind an IntegrityError, on its field where the rule has one."""
    guard = read_guard_message(error)
    if guard is not None:
        return FieldFault("", guard[1])
    text = str(error)
    for constraint in model._meta.constraints:
        if _is_about(constraint, model, text):
            fields = getattr(constraint, "fields", ())
            message = str(constraint.violation_error_message).replace("%(name)s", constraint.name)
            return FieldFault(fields[-1] if fields else "", message)
    return FieldFault("", "breaks a rule of the database: " + text.splitlines()[0])


def _is_about(constraint: models.BaseConstraint, model: type[Record], text: str) -> bool:
    """PostgreSQL and SQLite's CHECK name the constraint; SQLite's UNIQUE lists table and columns instead."""
    if re.search(rf"\b{re.escape(constraint.name)}\b", text):
        return True
    if isinstance(constraint, models.UniqueConstraint):
        columns = [f"{model._meta.db_table}.{field.column}" for field in constraint_fields(model, constraint)]
        return text.endswith("UNIQUE constraint failed: " + ", ".join(columns))
    return False
