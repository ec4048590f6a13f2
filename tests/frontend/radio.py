"""A tour with readings and taken spectrum, for the radio pages."""

import math
from datetime import UTC, datetime, timedelta
from random import Random
from types import SimpleNamespace

from showplan.records.models import Level, Node, OccupiedSpectrum, Reading, User
from showplan.services.editing import edit
from tests.tours import by

START = datetime(2027, 5, 1, 9, tzinfo=UTC)


def walk_test(tour: SimpleNamespace, owner: User) -> None:
    """Eight readings of the gateway N0, 6 dB below the tables, one of them far off."""
    hall, gateway = Level.objects.get(venue=tour.venue, name="Hall"), Node.objects.get(label="N0")
    chance = Random(7)
    spots = [(4.0 + 1.2 * i, 3.0 + 11 * (i % 2)) for i in range(8)]
    levels_dbm = [3 - 40.1 - 22 * math.log10(math.hypot(x - 2, y - 18)) - 6 + chance.gauss(0, 1) for x, y in spots]
    levels_dbm[5] -= 25
    with edit(tour.project, by(owner)) as change:
        change.create(
            [
                Reading(
                    level=hall,
                    x_m=x,
                    y_m=y,
                    height_m=1.2,
                    transmitter=gateway,
                    receiver_type=gateway.node_type,
                    received_dbm=round(level_dbm, 1),
                    taken_at=START + timedelta(minutes=minute),
                )
                for minute, ((x, y), level_dbm) in enumerate(zip(spots, levels_dbm, strict=True))
            ]
        )


def taken(tour: SimpleNamespace, owner: User) -> None:
    """Another crew's link on the show's radio channel 25, measured."""
    with edit(tour.project, by(owner)) as change:
        change.create(
            [
                OccupiedSpectrum(
                    venue=tour.venue, label="camera link", centre_mhz=2475.0, bandwidth_mhz=4.0, received_dbm=-60.0
                )
            ]
        )
