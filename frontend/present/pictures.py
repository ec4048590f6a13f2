"""The plan picture under a level's drawing."""

from typing import Any

from django.urls import reverse

from showplan.records.models import Level
from showplan.services.plan_pictures import picture_of


def picture_under(level: Level) -> dict[str, Any] | None:
    """Address, size in pixels and scale of the level's picture, None where it has none.

    The picture's lower left corner lies on the level's; the name in the query makes a new picture a new address.
    """
    found = picture_of(level)
    if found is None or level.plan_metres_per_pixel is None:
        return None
    address = reverse("plan-picture", args=[level.venue_id, level.pk])
    return {
        "address": f"{address}?file={found.name.rpartition('/')[2]}",
        "width_px": found.width_px,
        "height_px": found.height_px,
        "metres_per_pixel": level.plan_metres_per_pixel,
    }
