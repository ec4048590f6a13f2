"""What ties the kit to a venue: placements, tour dates and walk-test readings."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from showplan.records.base import FARTHEST_M, LONGEST_NAME, BoundedFloat, BoundedInteger, Record
from showplan.records.kit import Network, Node
from showplan.records.venues import TALLEST_M, Level, Venue, Zone, position_m


class Placement(Record):
    """Where a node is in one venue: a point on a level, or a zone of it if the node moves."""

    owner = ("venue", "project")
    natural_key = "node"

    venue = models.ForeignKey(Venue, on_delete=models.CASCADE, related_name="placements")
    node = models.ForeignKey(Node, on_delete=models.CASCADE, related_name="placements")
    level = models.ForeignKey(Level, on_delete=models.CASCADE, related_name="placements")
    zone = models.ForeignKey(Zone, on_delete=models.RESTRICT, null=True, blank=True, related_name="placements")
    x_m = BoundedFloat(low=-FARTHEST_M, high=FARTHEST_M, null=True, blank=True)
    y_m = BoundedFloat(low=-FARTHEST_M, high=FARTHEST_M, null=True, blank=True)
    height_m = BoundedFloat(low=0.0, high=TALLEST_M)
    aim_deg = BoundedFloat(low=-360.0, high=360.0, default=0.0)
    tilt_deg = BoundedFloat(low=-90.0, high=90.0, default=0.0)

    class Meta:
        ordering = ("node__label", "id")
        constraints = (
            models.UniqueConstraint(fields=("venue", "node"), name="placement_once_per_venue"),
            models.CheckConstraint(
                condition=Q(zone__isnull=True, x_m__isnull=False, y_m__isnull=False)
                | Q(zone__isnull=False, x_m__isnull=True, y_m__isnull=True),
                name="placement_point_or_zone",
                violation_error_message="give x_m and y_m, or a zone, not both",
            ),
        )

    def clean(self) -> None:
        if self.zone_id is None:
            if self.x_m is None or self.y_m is None:
                raise ValidationError({"x_m": "give x_m and y_m, or the zone in which the node moves"})
            self.level.refuse_outside(self.x_m, self.y_m, "x_m", "y_m")
        elif self.x_m is not None or self.y_m is not None:
            raise ValidationError({"zone": "give x_m and y_m, or a zone, not both"})
        self.level.refuse_too_high(self.height_m, "height_m")


class ChannelChoice(Record):
    """The radio channel that a network takes in one venue, where that is not its usual one."""

    owner = ("venue", "project")
    natural_key = "network"

    venue = models.ForeignKey(Venue, on_delete=models.CASCADE, related_name="channel_choices")
    network = models.ForeignKey(Network, on_delete=models.CASCADE, related_name="channel_choices")
    radio_channel = BoundedInteger(low=0, high=1000)

    class Meta:
        ordering = ("created_at", "id")
        constraints = (models.UniqueConstraint(fields=("venue", "network"), name="channel_choice_once_per_venue"),)


class TourDate(Record):
    """A day on which the project is in a venue."""

    owner = ("venue", "project")
    natural_key = "date"

    class Kind(models.TextChoices):
        LOAD_IN = "load-in"
        REHEARSAL = "rehearsal"
        SHOW = "show"
        LOAD_OUT = "load-out"

    venue = models.ForeignKey(Venue, on_delete=models.CASCADE, related_name="tour_dates")
    date = models.DateField()
    kind = models.CharField(max_length=10, choices=Kind)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ("date", "kind")
        constraints = (
            models.UniqueConstraint(fields=("venue", "date", "kind"), name="tour_date_unique"),
            models.CheckConstraint(
                condition=Q(kind__in=("load-in", "rehearsal", "show", "load-out")),
                name="tour_date_kind_known",
            ),
        )


class Reading(Record):
    """One measured received power (and packet error) at a position: a walk-test entry."""

    owner = ("level", "venue", "project")
    natural_key = "id"

    level = models.ForeignKey(Level, on_delete=models.CASCADE, related_name="readings")
    x_m, y_m = position_m(), position_m()
    height_m = BoundedFloat(low=0.0, high=TALLEST_M)
    transmitter = models.ForeignKey(Node, on_delete=models.CASCADE, related_name="readings_sent")
    receiver_type = models.ForeignKey("records.NodeType", on_delete=models.RESTRICT, related_name="readings")
    received_dbm = BoundedFloat(low=-174.0, high=30.0, null=True, blank=True)
    packet_error = BoundedFloat(low=0.0, high=1.0, null=True, blank=True)
    taken_at = models.DateTimeField()
    taken_by = models.CharField(max_length=LONGEST_NAME, blank=True)

    class Meta:
        ordering = ("taken_at", "id")
        constraints = (
            models.UniqueConstraint(
                fields=("level", "transmitter", "receiver_type", "taken_at", "x_m", "y_m", "height_m"),
                name="reading_once",
                violation_error_message="this reading was entered already: same transmitter, place, receiver and time",
            ),
            models.CheckConstraint(
                condition=Q(received_dbm__isnull=False) | Q(packet_error__isnull=False),
                name="reading_says_something",
                violation_error_message="a reading needs received_dbm, packet_error or both",
            ),
        )

    def clean(self) -> None:
        if self.received_dbm is None and self.packet_error is None:
            raise ValidationError({"received_dbm": "a reading needs received_dbm, packet_error or both"})
        self.level.refuse_outside(self.x_m, self.y_m, "x_m", "y_m")
        self.level.refuse_too_high(self.height_m, "height_m")
