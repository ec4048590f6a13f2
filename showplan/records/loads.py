"""The loads of the kit: what the outputs of a node feed."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from showplan.geometry.stretches import feed_point_faults
from showplan.records.base import LONGEST_NAME, BoundedFloat, BoundedInteger, MetresField, PositiveFloat, Record
from showplan.records.fuses import FuseClass, fuse_checks, refuse_fuse_facts_alone
from showplan.records.kit import HIGHEST_SLOT, MOST_OUTPUTS, Node
from showplan.records.people import Project
from showplan.records.references import ReferenceKey


class Load(Record):
    """What one output of a node feeds, the cable that leads there, and the fuse that protects the cable."""

    owner = ("project",)
    natural_key = "label"

    class Kind(models.TextChoices):
        TAPE = "tape"
        LAMP = "lamp"
        FAN = "fan"
        OTHER = "other"

    class Behaviour(models.TextChoices):
        """How its current follows the voltage; '' is what is usual of its kind."""

        CONSTANT_CURRENT = "constant-current"
        RESISTIVE = "resistive"
        CONSTANT_POWER = "constant-power"
        LED_STRING = "led-string"

    class Feeding(models.TextChoices):
        """Where the cable, or cables, reach a tape."""

        ONE_END = "one-end"
        BOTH_ENDS = "both-ends"
        POINTS = "points"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="loads")
    label = models.CharField(max_length=LONGEST_NAME)
    kind = models.CharField(max_length=10, choices=Kind)
    node = models.ForeignKey(Node, on_delete=models.CASCADE, related_name="loads")
    output = BoundedInteger(low=1, high=MOST_OUTPUTS)
    slot = BoundedInteger(low=1, high=HIGHEST_SLOT, null=True, blank=True)
    preset = ReferenceKey(table="load_presets", blank=True)
    behaviour = models.CharField(max_length=20, choices=Behaviour, blank=True)
    rated_v = PositiveFloat(high=1000.0)
    rated_w = PositiveFloat(high=10_000.0, null=True, blank=True)
    rated_a = PositiveFloat(high=1000.0, null=True, blank=True)
    dropout_v = PositiveFloat(high=1000.0, null=True, blank=True)
    length_m = PositiveFloat(high=1000.0, null=True, blank=True)
    tape_ohm_per_m = PositiveFloat(high=100.0, null=True, blank=True)
    feeding = models.CharField(max_length=10, choices=Feeding, default=Feeding.ONE_END)
    feed_points_m = MetresField(default=list, blank=True)
    is_against_skin = models.BooleanField(default=False)
    inrush_uf = BoundedFloat(low=0.0, high=1_000_000.0, default=0.0)
    cold_inrush_times = BoundedFloat(low=1.0, high=100.0, default=1.0)
    cable_length_m = PositiveFloat(high=1000.0)
    cable_area_mm2 = PositiveFloat(high=100.0)
    cables_together = BoundedInteger(low=1, high=20, default=1)
    fuse_a = PositiveFloat(high=1000.0, null=True, blank=True)
    fuse_class = models.CharField(max_length=12, choices=FuseClass, default=FuseClass.BLADE)
    fuse_v = PositiveFloat(high=1000.0, null=True, blank=True)
    fuse_breaks_a = PositiveFloat(high=10_000.0, null=True, blank=True)
    fuse_mohm = BoundedFloat(low=0.0, high=10_000.0, default=0.0)

    class Meta:
        ordering = ("label", "id")
        constraints = (
            models.UniqueConstraint(fields=("project", "label"), name="load_label_unique"),
            models.UniqueConstraint(
                fields=("node", "output"),
                name="load_output_used_once",
                violation_error_message="this output of the node already feeds another load",
            ),
            models.CheckConstraint(condition=Q(kind__in=("tape", "lamp", "fan", "other")), name="load_kind_known"),
            models.CheckConstraint(
                condition=Q(rated_w__isnull=False, rated_a__isnull=True)
                | Q(rated_w__isnull=True, rated_a__isnull=False),
                name="load_rated_in_watts_or_amps",
                violation_error_message="give rated_w or rated_a, one of the two",
            ),
            models.CheckConstraint(
                condition=~Q(kind="tape") | Q(length_m__isnull=False),
                name="load_tape_has_length",
                violation_error_message="a tape needs its length_m",
            ),
            models.CheckConstraint(
                condition=Q(behaviour__in=("", "constant-current", "resistive", "constant-power", "led-string")),
                name="load_behaviour_known",
            ),
            models.CheckConstraint(
                condition=Q(feeding__in=("one-end", "both-ends", "points")), name="load_feeding_known"
            ),
            models.CheckConstraint(
                condition=Q(kind="tape") | Q(feeding="one-end"),
                name="load_feeding_of_a_tape",
                violation_error_message="only a tape is fed at both ends or at points",
            ),
            models.CheckConstraint(
                condition=Q(dropout_v__isnull=True) | Q(dropout_v__lt=F("rated_v")),
                name="load_dropout_below_rated",
                violation_error_message="dropout_v must be below rated_v",
            ),
            *fuse_checks("load", "fuse"),
        )

    def clean(self) -> None:
        if (self.rated_w is None) == (self.rated_a is None):
            raise ValidationError({"rated_w": "give rated_w or rated_a, one of the two"})
        if self.kind == self.Kind.TAPE and self.length_m is None:
            raise ValidationError({"length_m": "a tape needs its length in metres"})
        if self.dropout_v is not None and self.dropout_v >= self.rated_v:
            raise ValidationError({"dropout_v": f"must be below rated_v, {self.rated_v:g} V"})
        self._refuse_bad_feeding()
        refuse_fuse_facts_alone(self, "fuse")
        outputs = self.node.node_type.outputs
        if self.output > outputs:
            raise ValidationError(
                {"output": f"node {self.node.label!r} has {outputs} outputs, there is no {self.output}"}
            )

    def _refuse_bad_feeding(self) -> None:
        if self.kind != self.Kind.TAPE and self.feeding != self.Feeding.ONE_END:
            raise ValidationError({"feeding": "only a tape is fed at both ends or at points"})
        faults = feed_point_faults(self.feeding, self.feed_points_m, self.length_m)
        if faults:
            raise ValidationError({"feed_points_m": faults})
