"""The supplies of the kit: what feeds a node."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from showplan.records.base import LONGEST_NAME, BoundedFloat, BoundedInteger, PositiveFloat, Record
from showplan.records.people import Project
from showplan.records.references import ReferenceKey


class Supply(Record):
    """A battery or a mains supply that feeds a node: packs of one sort, their converter and their chargers."""

    owner = ("project",)
    natural_key = "label"

    class Kind(models.TextChoices):
        BATTERY = "battery"
        MAINS = "mains"

    class Isolation(models.TextChoices):
        """How a mains supply is parted from the mains; SELV: safety extra-low voltage."""

        UNKNOWN = "unknown"
        SELV = "selv"
        NONE = "none"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="supplies")
    label = models.CharField(max_length=LONGEST_NAME)
    kind = models.CharField(max_length=10, choices=Kind)
    preset = ReferenceKey(table="battery_presets", blank=True)
    # As long as the free text that it was once.
    chemistry = ReferenceKey(table="battery_chemistries", max_length=LONGEST_NAME, blank=True)
    cells = BoundedInteger(low=1, high=100, null=True, blank=True)
    nominal_v = PositiveFloat(high=1000.0)
    capacity_ah = PositiveFloat(high=10_000.0, null=True, blank=True)
    rated_hours = PositiveFloat(high=1000.0, null=True, blank=True)
    state_of_health = PositiveFloat(high=1.0, default=0.8)
    internal_resistance_ohm = BoundedFloat(low=0.0, high=1000.0, null=True, blank=True)
    current_limit_a = PositiveFloat(high=1000.0, null=True, blank=True)
    converter_v = PositiveFloat(high=1000.0, null=True, blank=True)
    converter_efficiency = PositiveFloat(high=1.0, default=0.85)
    isolation = models.CharField(max_length=10, choices=Isolation, default=Isolation.UNKNOWN)
    is_limited_power = models.BooleanField(default=False)
    packs = BoundedInteger(low=1, high=1000, default=1)
    chargers = BoundedInteger(low=0, high=1000, default=1)
    charger_current_a = PositiveFloat(high=1000.0, null=True, blank=True)

    class Meta:
        ordering = ("label", "id")
        verbose_name_plural = "supplies"
        constraints = (
            models.UniqueConstraint(fields=("project", "label"), name="supply_label_unique"),
            models.CheckConstraint(condition=Q(kind__in=("battery", "mains")), name="supply_kind_known"),
            models.CheckConstraint(
                condition=Q(kind="mains") | Q(capacity_ah__isnull=False),
                name="supply_battery_has_capacity",
                violation_error_message="a battery needs its capacity_ah",
            ),
            models.CheckConstraint(
                condition=Q(isolation__in=("unknown", "selv", "none")), name="supply_isolation_known"
            ),
            models.CheckConstraint(
                condition=Q(kind="battery") | Q(cells__isnull=True, converter_v__isnull=True),
                name="supply_battery_facts_of_a_battery",
                violation_error_message="only a battery has cells and converter_v",
            ),
        )

    def clean(self) -> None:
        if self.kind == self.Kind.BATTERY and self.capacity_ah is None:
            raise ValidationError({"capacity_ah": "a battery needs its capacity in ampere-hours"})
        if self.kind == self.Kind.MAINS and self.cells is not None:
            raise ValidationError({"cells": "only a battery has cells: leave this empty"})
        if self.kind == self.Kind.MAINS and self.converter_v is not None:
            raise ValidationError({"converter_v": "only for a battery: a mains supply's nominal_v is what it gives"})
