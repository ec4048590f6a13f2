"""The materials table against an independent transmission-line calculation of each slab.

The other side is scikit-rf: a plane wave in a lossy medium as a line between two free-space ports.
"""

import numpy as np
import pytest
import skrf
from skrf.media import Freespace

from showplan.reference import materials
from tests.published.tolerances import HUNDREDTH_DB

VACUUM_PERMITTIVITY_F_PER_M = 8.8541878128e-12  # F/m, CODATA 2018
FREE_SPACE_OHM = 376.730313668  # ohm, CODATA 2018
FREQUENCIES_MHZ = (868, 915, 2440)

# ITU-R P.2040-3 Table 3: key: (thickness in m, relative permittivity, c, d), conductivity c f^d, f in GHz
SLABS = {
    "concrete-150": (0.150, 5.24, 0.0462, 0.7822),
    "concrete-200": (0.200, 5.24, 0.0462, 0.7822),
    "concrete-300": (0.300, 5.24, 0.0462, 0.7822),
    "brick-102": (0.102, 3.91, 0.0238, 0.16),
    "brick-200": (0.200, 3.91, 0.0238, 0.16),
    "plasterboard-26": (0.026, 2.73, 0.0085, 0.9395),
    "wood-20": (0.020, 1.99, 0.0047, 1.0718),
    "wood-40": (0.040, 1.99, 0.0047, 1.0718),
    "glass-6": (0.006, 6.31, 0.0036, 1.3394),
    "chipboard-18": (0.018, 2.58, 0.0217, 0.78),
}


def line_loss_db(frequency_mhz, thickness_m, permittivity, conductivity_s_per_m):
    """Loss in dB of the slab as a line between free-space ports."""
    frequency_hz = frequency_mhz * 1e6
    lossy = conductivity_s_per_m / (2 * np.pi * frequency_hz * VACUUM_PERMITTIVITY_F_PER_M)
    band = skrf.Frequency.from_f([frequency_hz], unit="hz")
    medium = Freespace(band, ep_r=permittivity - 1j * lossy)
    line = medium.line(thickness_m, unit="m")
    line.renormalize(FREE_SPACE_OHM)
    return float(-20 * np.log10(np.abs(line.s[0, 1, 0])))


@pytest.mark.parametrize("frequency_mhz", FREQUENCIES_MHZ)
@pytest.mark.parametrize("key", SLABS)
def test_slab_rows_equal_a_transmission_line(key, frequency_mhz):
    thickness_m, permittivity, c, d = SLABS[key]
    conductivity = c * (frequency_mhz / 1000) ** d
    outside_db = line_loss_db(frequency_mhz, thickness_m, permittivity, conductivity)
    assert materials()[key].loss_db(frequency_mhz) == pytest.approx(outside_db, abs=HUNDREDTH_DB)


def test_every_derived_row_is_checked_here():
    assert {key for key, material in materials().items() if material.standing == "derived"} == set(SLABS)


@pytest.mark.parametrize(
    ("key", "loss_db", "standing"),
    [
        ("cost231-light", 3.4, "read"),  # COST 231 multi-wall, public source file
        ("cost231-heavy", 6.9, "read"),  # COST 231 multi-wall, public source file
        ("metal", 40, "memory"),  # common practice, no source; an assumption
        ("stage-drape", 0.5, "memory"),  # common practice, no source
    ],
)
def test_rows_without_a_slab(key, loss_db, standing):
    material = materials()[key]
    assert {band.loss_db for band in material.losses} == {loss_db}
    assert material.standing == standing
