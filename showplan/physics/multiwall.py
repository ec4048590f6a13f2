"""COST 231 multi-wall terms: walls add up linearly, floors do not."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.constants import FLOOR_EXPONENT_B_COST231
from showplan.physics.parameters import loss_parameter

_COST231: Final = Source(
    "COST 231 multi-wall model", section="constants and form read in public source files", standing="read"
)


@formula(
    expression="L = k · L_w",
    parameters=(
        Parameter("wall_count", "", "walls crossed", minimum=0, maximum=1000, high=10, whole_number=True),
        loss_parameter("loss_per_wall_db", "loss of one wall: light 3.4, heavy 6.9"),
    ),
    result_unit="dB",
    source=_COST231,
    validity="stated for 800 to 1900 MHz, 2.4 GHz is an extrapolation; expected up to 10 walls",
)
def walls_loss_db(wall_count: Numeric, loss_per_wall_db: Numeric) -> Numeric:
    """Loss in dB of a number of like walls. Numbers or arrays that broadcast."""
    return wall_count * loss_per_wall_db


@formula(
    expression="L = n^((n + 2) / (n + 1) − 0.46) · L_f, and 0 for n = 0",
    parameters=(
        Parameter("floors_crossed", "", "floors crossed", minimum=0, maximum=1000, high=4, whole_number=True),
        loss_parameter("loss_per_floor_db", "loss of the first floor: 18.3 in COST 231"),
    ),
    result_unit="dB",
    source=_COST231,
    validity="stated for 800 to 1900 MHz, 2.4 GHz is an extrapolation; expected up to 4 floors",
)
def floor_loss_db(floors_crossed: Numeric, loss_per_floor_db: Numeric) -> Numeric:
    """Loss in dB of the floors between two levels; each further floor adds less than the one before.

    floors_crossed >= 0, where 0 gives 0. Numbers or arrays that broadcast.
    """
    floors = np.asarray(floors_crossed)
    exponent = (floors + 2) / (floors + 1) - FLOOR_EXPONENT_B_COST231
    loss: Numeric = np.where(floors > 0, np.maximum(floors, 1) ** exponent, 0.0) * loss_per_floor_db
    return loss
