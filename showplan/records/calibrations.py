"""What walk tests taught of a venue: kept version by version, one of them applied at most."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from showplan import reference
from showplan.records.base import FARTHEST_M, LONGEST_NAME, BoundedFloat, BoundedInteger, PositiveFloat, Record
from showplan.records.venues import Venue

HIGHEST_LOSS_DB = 200.0


class Calibration(Record):
    """One calibration of a venue. `losses` has a line for each material: `wall brick-200 6.1` or `floor ... 14.2`.

    `reference_offset_db` is added to free space at 1 m. Only the applied one changes what the planner computes.
    """

    owner = ("venue", "project")

    venue = models.ForeignKey(Venue, on_delete=models.CASCADE, related_name="calibrations")
    name = models.CharField(max_length=LONGEST_NAME)
    network = models.CharField(max_length=LONGEST_NAME)
    reference_offset_db = BoundedFloat(low=-40.0, high=40.0)
    path_loss_exponent = BoundedFloat(low=0.5, high=8.0)
    shadowing_sigma_db = PositiveFloat(high=30.0)
    losses = models.TextField(blank=True)
    furthest_m = PositiveFloat(high=FARTHEST_M)
    spots = BoundedInteger(low=0, high=1_000_000, default=0)
    rms_before_db = BoundedFloat(low=0.0, high=200.0, null=True, blank=True)
    rms_after_db = BoundedFloat(low=0.0, high=200.0, null=True, blank=True)
    latest_reading_at = models.DateTimeField(null=True, blank=True)
    is_applied = models.BooleanField(default=False)

    class Meta:
        ordering = ("name", "id")
        constraints = (
            models.UniqueConstraint(fields=("venue", "name"), name="calibration_name_unique"),
            models.UniqueConstraint(
                fields=("venue",),
                condition=Q(is_applied=True),
                name="calibration_one_applied",
                violation_error_message="another calibration of this venue is applied: revert that first",
            ),
        )

    def clean(self) -> None:
        self.parsed_losses()

    def parsed_losses(self) -> list[tuple[str, str, float]]:
        """(wall or floor, material, loss in dB) of each line. Raises ValidationError that names the line."""
        return [_parsed(number, line) for number, line in enumerate(self.losses.splitlines(), 1) if line.strip()]


def _parsed(number: int, line: str) -> tuple[str, str, float]:
    words = line.split()
    if len(words) != 3 or words[0] not in ("wall", "floor"):
        raise ValidationError({"losses": f"line {number}: write wall or floor, a material and its loss in dB"})
    kind, material, text = words
    if material not in reference.materials():
        raise ValidationError({"losses": f"line {number}: {material!r} is not in the table of materials"})
    try:
        loss_db = float(text)
    except ValueError:
        loss_db = float("nan")
    if not 0 <= loss_db <= HIGHEST_LOSS_DB:
        raise ValidationError(
            {"losses": f"line {number}: the loss must be from 0 to {HIGHEST_LOSS_DB:g} dB, not {text}"}
        )
    return kind, material, loss_db
