"""The kit that tours: node types, networks, supplies, nodes and their loads."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from showplan.records.base import LONGEST_NAME, BoundedFloat, BoundedInteger, PositiveFloat, Record
from showplan.records.people import Crew, Project
from showplan.records.references import ReferenceKey

# IEEE 802.15.4: 0xFFFF is the broadcast identifier, 0xFFFE a short address that means "has none".
HIGHEST_PAN_ID = 0xFFFE
HIGHEST_SHORT_ADDRESS = 0xFFFD
MOST_OUTPUTS = 64
# ANSI E1.31: universes of 512 slots; the feed of a crew rarely fills one.
HIGHEST_SLOT = 512 * 64


class NodeType(Record):
    """A sort of hardware: its radio, how many outputs it switches, what it draws when idle."""

    owner = ("project",)

    class AntennaPattern(models.TextChoices):
        OMNI = "omni"
        DIPOLE = "dipole"
        PATCH = "patch"

    class Polarisation(models.TextChoices):
        VERTICAL = "vertical"
        HORIZONTAL = "horizontal"
        CIRCULAR = "circular"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="node_types")
    name = models.CharField(max_length=LONGEST_NAME)
    phy = ReferenceKey(table="phys", own="own_phys")
    transmit_power_dbm = BoundedFloat(low=-60.0, high=40.0)
    antenna_gain_dbi = BoundedFloat(low=-30.0, high=30.0, default=0.0)
    cable_loss_db = BoundedFloat(low=0.0, high=60.0, default=0.0)
    sensitivity_dbm = BoundedFloat(low=-150.0, high=0.0)
    outputs = BoundedInteger(low=0, high=MOST_OUTPUTS, default=0)
    output_limit_a = PositiveFloat(high=200.0, null=True, blank=True)
    standing_current_ma = BoundedFloat(low=0.0, high=100_000.0, default=0.0)
    noise_figure_db = BoundedFloat(low=0.0, high=30.0, default=6.0)
    antenna_pattern = models.CharField(max_length=10, choices=AntennaPattern, default=AntennaPattern.OMNI)
    pattern_exponent = BoundedFloat(low=0.0, high=50.0, default=2.0)
    front_to_back_db = BoundedFloat(low=0.0, high=60.0, default=15.0)
    polarisation = models.CharField(max_length=12, choices=Polarisation, default=Polarisation.VERTICAL)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ("name", "id")
        constraints = (models.UniqueConstraint(fields=("project", "name"), name="node_type_name_unique"),)


class Network(Record):
    """The nodes that share one radio channel and PAN identifier."""

    owner = ("project",)

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="networks")
    name = models.CharField(max_length=LONGEST_NAME)
    phy = ReferenceKey(table="phys", own="own_phys")
    radio_channel = BoundedInteger(low=0, high=1000)
    pan_id = BoundedInteger(low=0, high=HIGHEST_PAN_ID)

    class Meta:
        ordering = ("name", "id")
        constraints = (models.UniqueConstraint(fields=("project", "name"), name="network_name_unique"),)


class Supply(Record):
    """A battery or a mains supply that feeds a node."""

    owner = ("project",)
    natural_key = "label"

    class Kind(models.TextChoices):
        BATTERY = "battery"
        MAINS = "mains"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="supplies")
    label = models.CharField(max_length=LONGEST_NAME)
    kind = models.CharField(max_length=10, choices=Kind)
    chemistry = models.CharField(max_length=LONGEST_NAME, blank=True)
    nominal_v = PositiveFloat(high=1000.0)
    capacity_ah = PositiveFloat(high=10_000.0, null=True, blank=True)
    internal_resistance_ohm = BoundedFloat(low=0.0, high=1000.0, null=True, blank=True)
    current_limit_a = PositiveFloat(high=1000.0, null=True, blank=True)

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
        )

    def clean(self) -> None:
        if self.kind == self.Kind.BATTERY and self.capacity_ah is None:
            raise ValidationError({"capacity_ah": "a battery needs its capacity in ampere-hours"})


class Node(Record):
    """A radio device of the kit: gateway, relay or receiver."""

    owner = ("project",)
    natural_key = "label"

    class Role(models.TextChoices):
        GATEWAY = "gateway"
        RELAY = "relay"
        RECEIVER = "receiver"

    class OnSignalLoss(models.TextChoices):
        HOLD = "hold"
        FADE_OUT = "fade-out"
        SWITCH_OFF = "switch-off"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="nodes")
    label = models.CharField(max_length=LONGEST_NAME)
    role = models.CharField(max_length=10, choices=Role)
    node_type = models.ForeignKey(NodeType, on_delete=models.RESTRICT, related_name="nodes")
    network = models.ForeignKey(Network, on_delete=models.RESTRICT, null=True, blank=True, related_name="nodes")
    short_address = BoundedInteger(low=0, high=HIGHEST_SHORT_ADDRESS, null=True, blank=True)
    supply = models.ForeignKey(Supply, on_delete=models.RESTRICT, null=True, blank=True, related_name="nodes")
    crew = models.ForeignKey(Crew, on_delete=models.SET_NULL, null=True, blank=True, related_name="nodes")
    is_worn = models.BooleanField(default=False)
    on_signal_loss = models.CharField(max_length=12, choices=OnSignalLoss, default=OnSignalLoss.HOLD)
    signal_lost_after_s = PositiveFloat(high=3600.0, default=1.0)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ("label", "id")
        constraints = (
            models.UniqueConstraint(fields=("project", "label"), name="node_label_unique"),
            models.UniqueConstraint(
                fields=("network", "short_address"),
                name="node_short_address_unique",
                violation_error_message="this short address is taken in the network",
            ),
            models.CheckConstraint(condition=Q(role__in=("gateway", "relay", "receiver")), name="node_role_known"),
            models.CheckConstraint(
                condition=Q(on_signal_loss__in=("hold", "fade-out", "switch-off")), name="node_on_signal_loss_known"
            ),
            models.CheckConstraint(
                condition=Q(network__isnull=True) | Q(short_address__isnull=False),
                name="node_in_network_has_short_address",
                violation_error_message="a node in a network needs a short address",
            ),
        )

    def clean(self) -> None:
        if self.network_id and self.short_address is None:
            raise ValidationError({"short_address": "a node in a network needs a short address"})


class Load(Record):
    """What one output of a node feeds, and the cable that leads there."""

    owner = ("project",)
    natural_key = "label"

    class Kind(models.TextChoices):
        TAPE = "tape"
        LAMP = "lamp"
        FAN = "fan"
        OTHER = "other"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="loads")
    label = models.CharField(max_length=LONGEST_NAME)
    kind = models.CharField(max_length=10, choices=Kind)
    node = models.ForeignKey(Node, on_delete=models.CASCADE, related_name="loads")
    output = BoundedInteger(low=1, high=MOST_OUTPUTS)
    slot = BoundedInteger(low=1, high=HIGHEST_SLOT, null=True, blank=True)
    rated_v = PositiveFloat(high=1000.0)
    rated_w = PositiveFloat(high=10_000.0, null=True, blank=True)
    rated_a = PositiveFloat(high=1000.0, null=True, blank=True)
    length_m = PositiveFloat(high=1000.0, null=True, blank=True)
    cable_length_m = PositiveFloat(high=1000.0)
    cable_area_mm2 = PositiveFloat(high=100.0)

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
        )

    def clean(self) -> None:
        if (self.rated_w is None) == (self.rated_a is None):
            raise ValidationError({"rated_w": "give rated_w or rated_a, one of the two"})
        if self.kind == self.Kind.TAPE and self.length_m is None:
            raise ValidationError({"length_m": "a tape needs its length in metres"})
        outputs = self.node.node_type.outputs
        if self.output > outputs:
            raise ValidationError(
                {"output": f"node {self.node.label!r} has {outputs} outputs, there is no {self.output}"}
            )
