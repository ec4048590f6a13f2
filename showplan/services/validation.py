"""Checks before a write, with a number of queries that does not grow with the number of rows.

Django's own `full_clean` asks the database several times for each row; this asks once for each kind of question.
The database's constraints and guards stand behind, for two writers at once.
"""

from collections import defaultdict
from collections.abc import Container, Sequence
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS, ObjectDoesNotExist, ValidationError
from django.db import models

from showplan.records.base import Record, constraint_fields
from showplan.services.errors import FieldFault, InvalidInput
from showplan.services.own_keys import unknown_key_faults


def refuse_invalid(records: Sequence[Record], beside: Sequence[Record] = ()) -> None:
    """Raise InvalidInput with every fault of every record (all of one class); references must be loaded objects.

    `beside` are records that would be written with these, where they are not in the database.
    """
    single = len(records) == 1
    faults = [fault for row, record in enumerate(records) for fault in _own_faults(record, row)]
    faults += unknown_key_faults(records, beside)
    faults += _uniqueness_faults(records, skip={fault.row for fault in faults})
    if faults:
        in_order = sorted(faults, key=lambda fault: fault.row or 0)
        raise InvalidInput([FieldFault(f.field, f.message, None if single else f.row) for f in in_order])


def _own_faults(record: Record, row: int) -> list[FieldFault]:
    references = [field.name for field in record._meta.concrete_fields if field.is_relation]
    missing = [
        FieldFault(name, "is missing", row)
        for name in references
        if getattr(record, f"{name}_id") is None and not record._meta.get_field(name).null
    ]
    try:
        record.clean_fields(exclude={"id", "version", "revision", *references})
        if not missing:
            record.clean()
    except ObjectDoesNotExist as error:
        return [*missing, FieldFault("", str(error), row)]
    except ValidationError as error:
        return missing + faults_of(error, row)
    return missing


def faults_of(error: ValidationError, row: int | None = None) -> list[FieldFault]:
    """A Django ValidationError as faults."""
    if hasattr(error, "error_dict"):
        return [
            FieldFault("" if name == NON_FIELD_ERRORS else name, message, row)
            for name, messages in error.message_dict.items()
            for message in messages
        ]
    return [FieldFault("", message, row) for message in error.messages]


def _uniqueness_faults(records: Sequence[Record], skip: Container[int | None]) -> list[FieldFault]:
    """One query for each unique constraint, whatever the number of records; rows with faults of their own are left."""
    model = type(records[0])
    faults = []
    for constraint in model._meta.constraints:
        # A rule with a condition of its own is left to the database.
        if isinstance(constraint, models.UniqueConstraint) and constraint.condition is None:
            faults += _repeats(model, constraint, records, skip)
    return faults


def _repeats(
    model: type[Record], constraint: models.UniqueConstraint, records: Sequence[Record], skip: Container[int | None]
) -> list[FieldFault]:
    names = [field.attname for field in constraint_fields(model, constraint)]
    holders: dict[tuple[Any, ...], list[int]] = defaultdict(list)
    for row, record in enumerate(records):
        value = tuple(getattr(record, name) for name in names)
        if None not in value and row not in skip:
            holders[value].append(row)
    if not holders:
        return []
    # All values of the last column in one query; the first column narrows it to the project, venue or level.
    taken = model._default_manager.filter(
        **{
            f"{names[0]}__in": {value[0] for value in holders},
            f"{names[-1]}__in": {value[-1] for value in holders},
        }
    )
    # A value that another row of the same write gives up counts as taken: databases check row by row.
    in_database = {tuple(value): pk for pk, *value in taken.values_list("pk", *names)}
    return [
        FieldFault(constraint.fields[-1], _already(constraint, model, records[row]), row)
        for value, rows in holders.items()
        for row in rows
        if records[row].pk != in_database.get(value, records[rows[0]].pk)
    ]


def _already(constraint: models.UniqueConstraint, model: type[Record], record: Record) -> str:
    value = getattr(record, constraint.fields[-1])
    where = " and ".join(str(field.verbose_name) for field in constraint_fields(model, constraint)[:-1])
    if constraint.violation_error_message != constraint.default_violation_error_message:
        return f"{constraint.violation_error_message}: {value}"
    return f"{str(value)!r} is already there in this {where}" if where else f"{str(value)!r} is already there"
