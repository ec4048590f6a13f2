"""What a fuse is said to be: of a load's output, or the main fuse of a node."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from showplan.records.base import Record


class FuseClass(models.TextChoices):
    """By which standard's times the fuse opens."""

    BLADE = "blade"
    UL = "ul"
    IEC_QUICK = "iec-quick"
    IEC_TIME_LAG = "iec-time-lag"


def fuse_checks(noun: str, prefix: str) -> tuple[models.CheckConstraint, ...]:
    """The constraints on `<prefix>_a` and its like: a known class, and no voltage or breaking current of no fuse."""
    return (
        models.CheckConstraint(
            condition=Q(**{f"{prefix}_class__in": tuple(FuseClass.values)}), name=f"{noun}_{prefix}_class_known"
        ),
        models.CheckConstraint(
            condition=Q(**{f"{prefix}_a__isnull": False})
            | Q(**{f"{prefix}_v__isnull": True, f"{prefix}_breaks_a__isnull": True}),
            name=f"{noun}_{prefix}_facts_of_a_fuse",
            violation_error_message=f"{prefix}_v and {prefix}_breaks_a need {prefix}_a",
        ),
    )


def refuse_fuse_facts_alone(record: Record, prefix: str) -> None:
    """Raise a ValidationError where a voltage or a breaking current is given without a fuse."""
    if getattr(record, f"{prefix}_a") is not None:
        return
    for name in (f"{prefix}_v", f"{prefix}_breaks_a"):
        if getattr(record, name) is not None:
            raise ValidationError({name: f"there is no fuse: give {prefix}_a, or leave this empty"})
