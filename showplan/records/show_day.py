"""The show day: its parts in order, and how bright the loads are in each."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from showplan.records.base import LONGEST_NAME, BoundedFloat, BoundedInteger, PositiveFloat, Record
from showplan.records.loads import Load
from showplan.records.people import Project
from showplan.records.timelines import ShowTimeline

LONGEST_PART_MINUTES = 1440.0


class ShowPart(Record):
    """One part of the show day, in order of `position`: what the loads do, as a mean level over its time.

    In a gap packs are charged and nothing is on.
    """

    owner = ("project",)

    class Kind(models.TextChoices):
        REHEARSAL = "rehearsal"
        PRE_SET = "pre-set"
        ACT = "act"
        INTERVAL = "interval"
        GAP = "gap"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="show_parts")
    name = models.CharField(max_length=LONGEST_NAME)
    position = BoundedInteger(low=0, high=1000)
    kind = models.CharField(max_length=10, choices=Kind)
    minutes = PositiveFloat(high=LONGEST_PART_MINUTES)
    level = BoundedFloat(low=0.0, high=1.0, default=0.0)
    may_change_packs = models.BooleanField(default=True)
    timeline = models.ForeignKey(
        ShowTimeline, on_delete=models.RESTRICT, null=True, blank=True, related_name="show_parts"
    )

    class Meta:
        ordering = ("position", "id")
        verbose_name = "show part"
        constraints = (
            models.UniqueConstraint(fields=("project", "name"), name="show_part_name_unique"),
            models.UniqueConstraint(
                fields=("project", "position"),
                name="show_part_position_unique",
                violation_error_message="another part of the show day has this position",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=("rehearsal", "pre-set", "act", "interval", "gap")), name="show_part_kind_known"
            ),
            models.CheckConstraint(
                condition=~Q(kind="gap") | Q(level=0.0, timeline__isnull=True),
                name="show_part_gap_is_dark",
                violation_error_message="nothing is on in a gap: level must be 0, timeline empty",
            ),
        )

    def clean(self) -> None:
        if self.kind != self.Kind.GAP:
            return
        if self.level != 0.0:
            raise ValidationError({"level": "nothing is on in a gap: the level must be 0"})
        if self.timeline_id is not None:
            raise ValidationError({"timeline": "nothing is on in a gap: leave this empty"})


class PartLevel(Record):
    """The mean level of one load over one part of the show day, where it is not that of the part."""

    owner = ("project",)
    natural_key = "load"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="part_levels")
    part = models.ForeignKey(ShowPart, on_delete=models.CASCADE, related_name="part_levels")
    load = models.ForeignKey(Load, on_delete=models.CASCADE, related_name="part_levels")
    level = BoundedFloat(low=0.0, high=1.0)

    class Meta:
        ordering = ("created_at", "id")
        verbose_name = "part level"
        constraints = (
            models.UniqueConstraint(
                fields=("part", "load"),
                name="part_level_once",
                violation_error_message="this load has a level in this part already",
            ),
        )

    def __str__(self) -> str:
        return f"{self.load} in {self.part}"

    def clean(self) -> None:
        if self.part.kind == ShowPart.Kind.GAP and self.level != 0.0:
            raise ValidationError({"level": f"part {self.part.name!r} is a gap, in which nothing is on: must be 0"})
