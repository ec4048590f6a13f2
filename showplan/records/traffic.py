"""The show's data on the air: PHYs of the crew's own, how each network sends, and what feeds it."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from showplan import reference
from showplan.records.base import BoundedFloat, BoundedInteger, PositiveFloat, Record
from showplan.records.kit import HIGHEST_SLOT, Network
from showplan.records.people import Project
from showplan.records.references import LONGEST_KEY
from showplan.records.timelines import ShowTimeline

HIGHEST_MHZ = 100_000.0
ROUNDING_MHZ = 1e-6  # a radio channel may end exactly where its band ends


class OwnPhy(Record):
    """A PHY of the crew's own: any licence-free packet radio, beside the table's.

    Networks and node types name it by its key, as they name a row of the table.
    """

    owner = ("project",)
    natural_key = "key"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="own_phys")
    key = models.CharField(max_length=LONGEST_KEY)
    band_low_mhz = PositiveFloat(high=HIGHEST_MHZ)
    band_high_mhz = PositiveFloat(high=HIGHEST_MHZ)
    first_channel = BoundedInteger(low=0, high=1000, default=0)
    last_channel = BoundedInteger(low=0, high=1000, default=0)
    first_centre_mhz = PositiveFloat(high=HIGHEST_MHZ)
    spacing_mhz = BoundedFloat(low=0.0, high=1000.0, default=0.0)
    bandwidth_mhz = PositiveFloat(high=10_000.0)
    bit_rate_kbps = PositiveFloat(high=100_000.0)
    header_octets = BoundedFloat(low=0.0, high=1000.0, default=6.0)
    longest_frame_octets = BoundedInteger(low=20, high=4095, default=127)
    turnaround_us = PositiveFloat(high=100_000.0, default=192.0)
    sensing_us = PositiveFloat(high=100_000.0, default=128.0)
    frame_gap_us = BoundedFloat(low=0.0, high=1_000_000.0, default=640.0)
    sensitivity_dbm = BoundedFloat(low=-150.0, high=0.0)

    class Meta:
        ordering = ("key", "id")
        verbose_name = "own PHY"
        constraints = (
            models.UniqueConstraint(fields=("project", "key"), name="own_phy_key_unique"),
            models.CheckConstraint(
                condition=Q(band_low_mhz__lt=F("band_high_mhz")),
                name="own_phy_band_has_width",
                violation_error_message="band_low_mhz must be below band_high_mhz",
            ),
            models.CheckConstraint(
                condition=Q(last_channel__gte=F("first_channel")),
                name="own_phy_channels_in_order",
                violation_error_message="last_channel must be at least first_channel",
            ),
            models.CheckConstraint(
                condition=Q(first_centre_mhz__gte=F("band_low_mhz") + F("bandwidth_mhz") / 2 - ROUNDING_MHZ)
                & Q(
                    band_high_mhz__gte=F("first_centre_mhz")
                    + F("spacing_mhz") * (F("last_channel") - F("first_channel"))
                    + F("bandwidth_mhz") / 2
                    - ROUNDING_MHZ
                ),
                name="own_phy_channels_in_band",
                violation_error_message="a radio channel reaches out of the band",
            ),
        )

    def clean(self) -> None:
        if self.key in reference.phys():
            raise ValidationError({"key": f"{self.key!r} is in the table of phys already: choose another key"})
        if self.band_low_mhz >= self.band_high_mhz:
            low = f"{self.band_low_mhz:g} MHz"
            raise ValidationError({"band_high_mhz": f"must be above the lower edge of the band, {low}"})
        if self.last_channel < self.first_channel:
            raise ValidationError({"last_channel": f"must be at least the first radio channel, {self.first_channel}"})
        self._refuse_out_of_band()

    def _refuse_out_of_band(self) -> None:
        half_mhz = self.bandwidth_mhz / 2
        lowest_mhz = self.first_centre_mhz - half_mhz
        last_mhz = self.first_centre_mhz + self.spacing_mhz * (self.last_channel - self.first_channel)
        band = f"the band, {self.band_low_mhz:g} to {self.band_high_mhz:g} MHz"
        if lowest_mhz < self.band_low_mhz - ROUNDING_MHZ:
            start = f"radio channel {self.first_channel} starts at {lowest_mhz:g} MHz"
            raise ValidationError({"first_centre_mhz": f"{start}, out of {band}"})
        if last_mhz + half_mhz > self.band_high_mhz + ROUNDING_MHZ:
            end = f"radio channel {self.last_channel} ends at {last_mhz + half_mhz:g} MHz"
            raise ValidationError({"last_channel": f"{end}, out of {band}"})


class Traffic(Record):
    """How a network sends the show: how often, in which packets, repeated or acknowledged.

    A network without settings of its own sends in the usual way, which is that of the defaults.
    """

    owner = ("project",)
    natural_key = "network"

    class Coding(models.TextChoices):
        FULL = "full"
        CHANGES = "changes"

    class Addressing(models.TextChoices):
        ALL = "all"
        GROUPS = "groups"
        EACH = "each"

    class Relaying(models.TextChoices):
        ROUTED = "routed"
        REPEATED = "repeated"
        NONE = "none"

    class Addresses(models.TextChoices):
        SHORT = "short"
        EXTENDED = "extended"

    class Security(models.TextChoices):
        NONE = "none"
        MIC_32 = "mic-32"
        MIC_64 = "mic-64"
        MIC_128 = "mic-128"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="traffics")
    network = models.ForeignKey(Network, on_delete=models.CASCADE, related_name="traffics")
    refresh_hz = PositiveFloat(high=1000.0, default=25.0)
    header_octets = BoundedInteger(low=0, high=64, default=4)
    coding = models.CharField(max_length=10, choices=Coding, default=Coding.FULL)
    changed_share = PositiveFloat(high=1.0, default=0.3)
    timeline = models.ForeignKey(
        ShowTimeline, on_delete=models.RESTRICT, null=True, blank=True, related_name="traffics"
    )
    keep_alive_s = PositiveFloat(high=3600.0, default=1.0)
    addressing = models.CharField(max_length=10, choices=Addressing, default=Addressing.ALL)
    groups = BoundedInteger(low=1, high=1000, default=4)
    acknowledged = models.BooleanField(default=False)
    retries = BoundedInteger(low=0, high=7, default=3)
    copies = BoundedInteger(low=1, high=10, default=1)
    relaying = models.CharField(max_length=10, choices=Relaying, default=Relaying.REPEATED)
    jitter_ms = BoundedFloat(low=0.0, high=10_000.0, default=20.0)
    addresses = models.CharField(max_length=10, choices=Addresses, default=Addresses.SHORT)
    security = models.CharField(max_length=10, choices=Security, default=Security.NONE)
    min_be = BoundedInteger(low=0, high=8, default=3)
    max_be = BoundedInteger(low=0, high=8, default=5)
    max_backoffs = BoundedInteger(low=0, high=5, default=4)
    node_buffer_octets = BoundedInteger(low=16, high=1_000_000, default=256)

    class Meta:
        ordering = ("created_at", "id")
        verbose_name = "traffic setting"
        constraints = (
            models.UniqueConstraint(
                fields=("network",),
                name="traffic_once_per_network",
                violation_error_message="this network has traffic settings already",
            ),
            models.CheckConstraint(condition=Q(coding__in=("full", "changes")), name="traffic_coding_known"),
            models.CheckConstraint(
                condition=Q(addressing__in=("all", "groups", "each")), name="traffic_addressing_known"
            ),
            models.CheckConstraint(
                condition=Q(relaying__in=("routed", "repeated", "none")), name="traffic_relaying_known"
            ),
            models.CheckConstraint(condition=Q(addresses__in=("short", "extended")), name="traffic_addresses_known"),
            models.CheckConstraint(
                condition=Q(security__in=("none", "mic-32", "mic-64", "mic-128")), name="traffic_security_known"
            ),
            models.CheckConstraint(
                condition=Q(timeline__isnull=True) | Q(coding="changes"),
                name="traffic_timeline_with_changes",
                violation_error_message="a timeline goes with the coding 'changes'",
            ),
            models.CheckConstraint(
                condition=Q(acknowledged=False) | (Q(addressing="each") & ~Q(relaying="repeated")),
                name="traffic_acknowledged_by_one",
                violation_error_message="only packets for one node each, not repeated by relays, can be acknowledged",
            ),
            models.CheckConstraint(
                condition=Q(max_be__gte=F("min_be")),
                name="traffic_backoff_in_order",
                violation_error_message="max_be must be at least min_be",
            ),
        )

    def clean(self) -> None:
        if self.timeline_id is not None and self.coding == self.Coding.FULL:
            why = "every level is sent, whatever changes: take the timeline out, or choose the coding 'changes'"
            raise ValidationError({"timeline": why})
        if self.acknowledged and self.addressing != self.Addressing.EACH:
            why = "a packet for several nodes cannot be acknowledged: address each node, or send copies"
            raise ValidationError({"acknowledged": why})
        if self.acknowledged and self.relaying == self.Relaying.REPEATED:
            why = "packets that every relay repeats cannot be acknowledged: relay them by route, or not at all"
            raise ValidationError({"acknowledged": why})
        if self.max_be < self.min_be:
            raise ValidationError({"max_be": f"must be at least min_be, {self.min_be}"})


class Feed(Record):
    """The stream from the control computer into a network's gateways."""

    owner = ("project",)
    natural_key = "network"

    class Kind(models.TextChoices):
        SERIAL = "serial"
        E1_11 = "e1.11"
        E1_31 = "e1.31"

    class Parity(models.TextChoices):
        NONE = "none"
        EVEN = "even"
        ODD = "odd"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="feeds")
    network = models.ForeignKey(Network, on_delete=models.CASCADE, related_name="feeds")
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.SERIAL)
    slots = BoundedInteger(low=1, high=HIGHEST_SLOT, default=512)
    rate_hz = PositiveFloat(high=1000.0, null=True, blank=True)
    baud = BoundedInteger(low=300, high=10_000_000, default=57_600)
    data_bits = BoundedInteger(low=5, high=9, default=8)
    parity = models.CharField(max_length=10, choices=Parity, default=Parity.NONE)
    stop_bits = BoundedInteger(low=1, high=2, default=1)
    frame_octets = BoundedInteger(low=0, high=1000, default=5)
    escaping = models.BooleanField(default=False)
    clock_error_percent = BoundedFloat(low=-20.0, high=20.0, default=0.0)
    hold_back_ms = BoundedFloat(low=0.0, high=1000.0, default=0.0)
    buffer_octets = BoundedInteger(low=1, high=10_000_000, default=256)

    class Meta:
        ordering = ("created_at", "id")
        constraints = (
            models.UniqueConstraint(
                fields=("network",),
                name="feed_once_per_network",
                violation_error_message="this network has a feed already",
            ),
            models.CheckConstraint(condition=Q(kind__in=("serial", "e1.11", "e1.31")), name="feed_kind_known"),
            models.CheckConstraint(condition=Q(parity__in=("none", "even", "odd")), name="feed_parity_known"),
        )
