"""The kit that tours: node types, networks and nodes."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from showplan.records.base import LONGEST_NAME, BoundedFloat, BoundedInteger, PositiveFloat, Record
from showplan.records.fuses import FuseClass, fuse_checks, refuse_fuse_facts_alone
from showplan.records.people import Crew, Project
from showplan.records.references import ReferenceKey
from showplan.records.supplies import Supply

# IEEE 802.15.4: 0xFFFF is the broadcast identifier, 0xFFFE a short address that means "has none".
HIGHEST_PAN_ID = 0xFFFE
HIGHEST_SHORT_ADDRESS = 0xFFFD
MOST_OUTPUTS = 64
# ANSI E1.31: universes of 512 slots; the feed of a crew rarely fills one.
HIGHEST_SLOT = 512 * 64


class NodeType(Record):
    """A sort of hardware: its radio, how many outputs it switches and how, what it draws when idle."""

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
    switch_on_mohm = PositiveFloat(high=10_000.0, null=True, blank=True)
    switch_rated_drive_v = PositiveFloat(high=30.0, null=True, blank=True)
    switch_threshold_v = PositiveFloat(high=30.0, null=True, blank=True)
    drive_v = PositiveFloat(high=30.0, null=True, blank=True)
    switch_k_per_w = PositiveFloat(high=10_000.0, null=True, blank=True)
    switch_limit_c = BoundedFloat(low=26.0, high=200.0, default=110.0)
    switch_edge_us = PositiveFloat(high=10_000.0, null=True, blank=True)
    dimming_hz = BoundedFloat(low=0.0, high=1_000_000.0, null=True, blank=True)
    input_uf = BoundedFloat(low=0.0, high=1_000_000.0, default=0.0)
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
    trunk_length_m = PositiveFloat(high=1000.0, null=True, blank=True)
    trunk_area_mm2 = PositiveFloat(high=100.0, null=True, blank=True)
    main_fuse_a = PositiveFloat(high=1000.0, null=True, blank=True)
    main_fuse_class = models.CharField(max_length=12, choices=FuseClass, default=FuseClass.BLADE)
    main_fuse_v = PositiveFloat(high=1000.0, null=True, blank=True)
    main_fuse_breaks_a = PositiveFloat(high=10_000.0, null=True, blank=True)
    main_fuse_mohm = BoundedFloat(low=0.0, high=10_000.0, default=0.0)
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
            models.CheckConstraint(
                condition=Q(trunk_length_m__isnull=True, trunk_area_mm2__isnull=True)
                | Q(trunk_length_m__isnull=False, trunk_area_mm2__isnull=False),
                name="node_trunk_whole",
                violation_error_message="give trunk_length_m and trunk_area_mm2, or neither",
            ),
            *fuse_checks("node", "main_fuse"),
        )

    def clean(self) -> None:
        if self.network_id and self.short_address is None:
            raise ValidationError({"short_address": "a node in a network needs a short address"})
        if (self.trunk_length_m is None) != (self.trunk_area_mm2 is None):
            missing = "trunk_length_m" if self.trunk_length_m is None else "trunk_area_mm2"
            raise ValidationError({missing: "give trunk_length_m and trunk_area_mm2, or neither"})
        refuse_fuse_facts_alone(self, "main_fuse")
