"""A place the project plays: its levels, walls, zones, sites and the spectrum that is taken there.

All positions are metres in one flat coordinate system per venue (x to the right, y up the plan). A level is a
rectangle in it; heights of things on a level are above that level's floor.
"""

from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from showplan.geometry.polygons import polygon_faults
from showplan.records.base import FARTHEST_M, LONGEST_NAME, BoundedFloat, PositiveFloat, Record
from showplan.records.people import Project
from showplan.records.references import ReferenceKey

TALLEST_M = 500.0


def position_m() -> BoundedFloat:
    """A coordinate in the venue's flat metric system."""
    return BoundedFloat(low=-FARTHEST_M, high=FARTHEST_M)


class Venue(Record):
    """One place the project plays, with what the planner assumes of it.

    Power is planned for the coldest and the warmest air where the kit works.
    """

    owner = ("project",)

    class PathLossModel(models.TextChoices):
        FREE_SPACE = "free-space"
        LOG_DISTANCE = "log-distance"
        SITE_GENERAL = "site-general"
        INDOOR_BY_SIGHT = "indoor-by-sight"
        TWO_RAY = "two-ray"

    # The rows of the reference tables that the two models without a wall plan know.
    SURROUNDINGS: ClassVar[dict[str, tuple[str, ...]]] = {
        PathLossModel.SITE_GENERAL: ("residential", "office", "commercial"),
        PathLossModel.INDOOR_BY_SIGHT: ("office", "corridor", "industrial"),
    }

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="venues")
    name = models.CharField(max_length=LONGEST_NAME)
    city = models.CharField(max_length=LONGEST_NAME, blank=True)
    region = ReferenceKey(table="regions")
    environment = ReferenceKey(table="environments")
    path_loss_model = models.CharField(max_length=20, choices=PathLossModel, default=PathLossModel.LOG_DISTANCE)
    path_loss_exponent = BoundedFloat(low=1.0, high=6.0)
    surroundings = models.CharField(max_length=40, blank=True)
    fade_margin_db = BoundedFloat(low=0.0, high=60.0, default=10.0)
    coldest_c = BoundedFloat(low=-40.0, high=60.0, default=15.0)
    warmest_c = BoundedFloat(low=-40.0, high=60.0, default=30.0)
    is_wet = models.BooleanField(default=False)
    reached_by_air = models.BooleanField(default=False)
    drop_warn_percent = PositiveFloat(high=50.0, default=3.0)
    drop_stop_percent = PositiveFloat(high=50.0, default=10.0)
    note = models.TextField(blank=True)
    revision = models.PositiveIntegerField(default=0, editable=False)

    class Meta:
        ordering = ("name", "id")
        constraints = (
            models.UniqueConstraint(fields=("project", "name"), name="venue_name_unique"),
            models.CheckConstraint(
                condition=Q(coldest_c__lte=F("warmest_c")),
                name="venue_air_in_order",
                violation_error_message="coldest_c must be at most warmest_c",
            ),
            models.CheckConstraint(
                condition=Q(drop_warn_percent__lte=F("drop_stop_percent")),
                name="venue_drops_in_order",
                violation_error_message="drop_warn_percent must be at most drop_stop_percent",
            ),
        )

    def clean(self) -> None:
        known = self.SURROUNDINGS.get(self.path_loss_model)
        if known is not None and self.surroundings not in known:
            raise ValidationError({"surroundings": f"the model {self.path_loss_model} needs one of {', '.join(known)}"})
        if self.coldest_c > self.warmest_c:
            raise ValidationError({"coldest_c": f"must be at most the warmest, {self.warmest_c:g} °C"})
        if self.drop_warn_percent > self.drop_stop_percent:
            most = f"must be at most drop_stop_percent, {self.drop_stop_percent:g}"
            raise ValidationError({"drop_warn_percent": most})


class Level(Record):
    """One floor of a venue: a rectangle of the venue's plan at an elevation, with a clear height above it."""

    owner = ("venue", "project")

    venue = models.ForeignKey(Venue, on_delete=models.CASCADE, related_name="levels")
    name = models.CharField(max_length=LONGEST_NAME)
    elevation_m = BoundedFloat(low=-TALLEST_M, high=TALLEST_M, default=0.0)
    clear_height_m = PositiveFloat(high=TALLEST_M)
    origin_x_m = BoundedFloat(low=-FARTHEST_M, high=FARTHEST_M, default=0.0)
    origin_y_m = BoundedFloat(low=-FARTHEST_M, high=FARTHEST_M, default=0.0)
    width_m = PositiveFloat(high=FARTHEST_M)
    depth_m = PositiveFloat(high=FARTHEST_M)
    floor_material = ReferenceKey(table="materials", default="concrete-200")
    plan_picture = models.ImageField(upload_to="plan-pictures", null=True, blank=True)
    plan_metres_per_pixel = PositiveFloat(high=100.0, null=True, blank=True)

    class Meta:
        ordering = ("elevation_m", "name")
        constraints = (
            models.UniqueConstraint(fields=("venue", "name"), name="level_name_unique"),
            models.CheckConstraint(
                condition=Q(plan_picture="") | Q(plan_picture__isnull=True) | Q(plan_metres_per_pixel__isnull=False),
                name="level_picture_has_scale",
                violation_error_message="a plan picture needs its scale: give plan_metres_per_pixel",
            ),
        )

    def contains(self, x_m: float, y_m: float) -> bool:
        """Whether the point lies on this level; its edge counts as inside."""
        return (
            self.origin_x_m <= x_m <= self.origin_x_m + self.width_m
            and self.origin_y_m <= y_m <= self.origin_y_m + self.depth_m
        )

    def extent(self) -> str:
        """The rectangle in words, for error messages."""
        right, top = self.origin_x_m + self.width_m, self.origin_y_m + self.depth_m
        return f"x {self.origin_x_m:g} to {right:g} m, y {self.origin_y_m:g} to {top:g} m"

    def refuse_outside(self, x_m: float, y_m: float, *fields: str) -> None:
        """Raise a ValidationError on `fields` where the point is off the level."""
        if not self.contains(x_m, y_m):
            message = f"({x_m:g}, {y_m:g}) m lies off level {self.name!r}, which spans {self.extent()}"
            raise ValidationError(dict.fromkeys(fields, message))

    def refuse_too_high(self, height_m: float, field: str) -> None:
        """Raise a ValidationError on `field` where the height is above the level's ceiling."""
        if height_m > self.clear_height_m:
            raise ValidationError(
                {field: f"{height_m:g} m is above the clear height of level {self.name!r}, {self.clear_height_m:g} m"}
            )


def refuse_bad_outline(level: Level, corners_m: Any) -> None:
    """Raise a ValidationError on `corners_m` unless they are a simple polygon on the level."""
    faults = polygon_faults(corners_m)
    if faults:
        raise ValidationError({"corners_m": faults})
    for x_m, y_m in corners_m:
        level.refuse_outside(x_m, y_m, "corners_m")


class Wall(Record):
    """A straight obstacle on a level: two points, a base and a height above the floor, and a material."""

    owner = ("level", "venue", "project")
    natural_key = "label"

    label = models.CharField(max_length=LONGEST_NAME)

    level = models.ForeignKey(Level, on_delete=models.CASCADE, related_name="walls")
    start_x_m, start_y_m, end_x_m, end_y_m = position_m(), position_m(), position_m(), position_m()
    base_m = BoundedFloat(low=0.0, high=TALLEST_M, default=0.0)
    height_m = PositiveFloat(high=TALLEST_M)
    material = ReferenceKey(table="materials")
    has_open_top = models.BooleanField(default=False)

    class Meta:
        ordering = ("label", "id")
        constraints = (
            models.UniqueConstraint(fields=("level", "label"), name="wall_label_unique"),
            models.CheckConstraint(
                condition=~(Q(start_x_m=F("end_x_m")) & Q(start_y_m=F("end_y_m"))),
                name="wall_has_length",
                violation_error_message="a wall needs two different ends",
            ),
        )

    def clean(self) -> None:
        if (self.start_x_m, self.start_y_m) == (self.end_x_m, self.end_y_m):
            raise ValidationError({"end_x_m": "the wall has no length: its two ends are the same point"})
        self.level.refuse_outside(self.start_x_m, self.start_y_m, "start_x_m", "start_y_m")
        self.level.refuse_outside(self.end_x_m, self.end_y_m, "end_x_m", "end_y_m")


class Zone(Record):
    """An area in which a moving node must be served: a simple polygon on a level."""

    owner = ("level", "venue", "project")

    level = models.ForeignKey(Level, on_delete=models.CASCADE, related_name="zones")
    name = models.CharField(max_length=LONGEST_NAME)
    corners_m = models.JSONField()

    class Meta:
        ordering = ("name", "id")
        constraints = (models.UniqueConstraint(fields=("level", "name"), name="zone_name_unique"),)

    def clean(self) -> None:
        refuse_bad_outline(self.level, self.corners_m)


class CandidateSite(Record):
    """A position where a relay or gateway may stand, with mains or not.

    `cost` weighs the sites against each other in the crew's own measure; 1 is a site like any other.
    """

    class RelayUse(models.TextChoices):
        """Whether the relay planner may put a relay on the site."""

        MAY = "may"
        MUST = "must"
        NEVER = "never"

    owner = ("level", "venue", "project")
    natural_key = "label"

    label = models.CharField(max_length=LONGEST_NAME)
    level = models.ForeignKey(Level, on_delete=models.CASCADE, related_name="candidate_sites")
    x_m, y_m = position_m(), position_m()
    height_m = BoundedFloat(low=0.0, high=TALLEST_M)
    has_mains = models.BooleanField(default=False)
    cost = BoundedFloat(low=0.01, high=1000.0, default=1.0)
    relay_use = models.CharField(max_length=5, choices=RelayUse.choices, default=RelayUse.MAY)

    class Meta:
        ordering = ("label", "id")
        constraints = (
            models.UniqueConstraint(fields=("level", "label"), name="candidate_site_label_unique"),
            models.CheckConstraint(
                condition=models.Q(relay_use__in=("may", "must", "never")), name="candidate_site_relay_use_known"
            ),
        )

    def clean(self) -> None:
        self.level.refuse_outside(self.x_m, self.y_m, "x_m", "y_m")
        self.level.refuse_too_high(self.height_m, "height_m")


class CrowdArea(Record):
    """Where the audience is when the house is full: a polygon on a level, people up to a height.

    Loss a metre and the most it can cost are the crew's assumption; the reference table of crowds gives a start.
    """

    owner = ("level", "venue", "project")
    natural_key = "label"

    level = models.ForeignKey(Level, on_delete=models.CASCADE, related_name="crowd_areas")
    label = models.CharField(max_length=LONGEST_NAME)
    corners_m = models.JSONField()
    height_m = PositiveFloat(high=10.0, default=1.3)
    loss_db_per_m = BoundedFloat(low=0.0, high=50.0, default=1.0)
    most_db = BoundedFloat(low=0.0, high=200.0, default=12.0)

    class Meta:
        ordering = ("label", "id")
        constraints = (models.UniqueConstraint(fields=("level", "label"), name="crowd_area_label_unique"),)

    def clean(self) -> None:
        refuse_bad_outline(self.level, self.corners_m)


class OccupiedSpectrum(Record):
    """Radio that is already there: the house network, another crew's link, a noise source.

    `busy_share` is the share of the time, 0 to 1, in which it sends: an assumption until somebody measures.
    `full_house_dbm` and `full_house_busy_share` hold once the audience's phones are in, where that differs.
    """

    owner = ("venue", "project")
    natural_key = "label"

    venue = models.ForeignKey(Venue, on_delete=models.CASCADE, related_name="occupied_spectrum")
    label = models.CharField(max_length=LONGEST_NAME)
    centre_mhz = BoundedFloat(low=1.0, high=100_000.0)
    bandwidth_mhz = PositiveFloat(high=10_000.0)
    received_dbm = BoundedFloat(low=-174.0, high=30.0, null=True, blank=True)
    busy_share = BoundedFloat(low=0.0, high=1.0, default=0.1)
    full_house_dbm = BoundedFloat(low=-174.0, high=30.0, null=True, blank=True)
    full_house_busy_share = BoundedFloat(low=0.0, high=1.0, null=True, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ("centre_mhz", "label")
        verbose_name_plural = "occupied spectrum"
        constraints = (models.UniqueConstraint(fields=("venue", "label"), name="occupied_spectrum_label_unique"),)
