"""COST 231 multi-wall model (constants read in a public source file) and P.2040 slabs."""

import numpy as np
import pytest

from showplan.physics.constants import FLOOR_LOSS_DB_COST231
from showplan.physics.free_space import free_space_loss_db
from showplan.physics.multiwall import floor_loss_db, walls_loss_db
from showplan.physics.slab import slab_loss_db
from showplan.reference import materials
from tests.published.tolerances import HUNDREDTH_DB, LAST_PRINTED_DIGIT_DB

# COST 231 multi-wall, b = 0.46, first floor 18.3 dB
FLOOR_TERM_DB = (0.0, 18.300, 33.524, 43.589, 51.048)


def test_floor_term():
    computed = floor_loss_db(np.arange(5), FLOOR_LOSS_DB_COST231)
    assert computed == pytest.approx(np.array(FLOOR_TERM_DB), abs=HUNDREDTH_DB)
    assert floor_loss_db(0, FLOOR_LOSS_DB_COST231) == 0.0


@pytest.mark.parametrize(
    ("frequency_mhz", "distance_m", "light", "heavy", "floors", "total_db"),
    # COST 231 multi-wall, light 3.4 dB, heavy 6.9 dB, floor 18.3 dB
    [
        (2440, 20, 2, 0, 0, 73.016),
        (2440, 20, 2, 1, 0, 79.916),
        (2440, 30, 3, 1, 1, 105.138),
        (868, 30, 3, 1, 1, 96.161),
        (915, 25, 0, 2, 2, 106.959),
    ],
)
def test_multi_wall_sums(frequency_mhz, distance_m, light, heavy, floors, total_db):
    computed = (
        free_space_loss_db(distance_m, frequency_mhz)
        + walls_loss_db(light, materials()["cost231-light"].loss_db(1800))
        + walls_loss_db(heavy, materials()["cost231-heavy"].loss_db(1800))
        + floor_loss_db(floors, FLOOR_LOSS_DB_COST231)
    )
    assert computed == pytest.approx(total_db, abs=HUNDREDTH_DB)


# ITU-R P.2040-3 Table 3: (relative permittivity, c, d) with conductivity c f^d in S/m, f in GHz
CONSTANTS = {
    "concrete": (5.24, 0.0462, 0.7822),
    "brick": (3.91, 0.0238, 0.16),
    "plasterboard": (2.73, 0.0085, 0.9395),
    "wood": (1.99, 0.0047, 1.0718),
    "glass": (6.31, 0.0036, 1.3394),
    "ceiling board": (1.48, 0.0011, 1.0750),
    "chipboard": (2.58, 0.0217, 0.78),
    "plywood": (2.71, 0.33, 0.0),
}


@pytest.mark.parametrize(
    ("substance", "thickness_mm", "losses_db"),
    # ITU-R P.2040-4 equations (37), (43b), (44) at normal incidence: 868, 915, 2440 MHz
    [
        ("concrete", 100, (4.844, 5.121, 8.069)),
        ("concrete", 150, (5.375, 5.742, 11.484)),
        ("concrete", 200, (7.491, 7.442, 14.760)),
        ("concrete", 300, (10.118, 10.654, 21.314)),
        ("brick", 102, (2.771, 3.023, 3.476)),
        ("brick", 200, (5.011, 5.229, 5.842)),
        ("plasterboard", 12.5, (0.299, 0.321, 1.088)),
        ("plasterboard", 26, (0.798, 0.849, 1.160)),
        ("wood", 20, (0.249, 0.268, 0.772)),
        ("wood", 40, (0.582, 0.613, 0.614)),
        ("glass", 4, (0.176, 0.194, 1.095)),
        ("glass", 6, (0.368, 0.405, 1.946)),
        ("chipboard", 18, (0.755, 0.795, 1.674)),
        ("plywood", 18, (6.481, 6.477, 6.235)),
        ("ceiling board", 15, (0.041, 0.044, 0.171)),
    ],
)
def test_slab_formula(substance, thickness_mm, losses_db):
    permittivity, c, d = CONSTANTS[substance]
    frequency_mhz = np.array([868.0, 915.0, 2440.0])
    conductivity = c * (frequency_mhz / 1000) ** d
    computed = slab_loss_db(frequency_mhz, thickness_mm / 1000, permittivity, conductivity)
    assert computed == pytest.approx(np.array(losses_db), abs=LAST_PRINTED_DIGIT_DB)
