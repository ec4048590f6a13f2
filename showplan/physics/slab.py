"""Loss through one homogeneous slab at normal incidence; the materials table was made with it."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.constants import VACUUM_PERMITTIVITY_F_PER_M
from showplan.physics.free_space import wavelength_m
from showplan.physics.parameters import FREQUENCY_MHZ

_MOST_NEPERS: Final = 690.0  # beyond it (6000 dB) the wave is smaller than the smallest float


@formula(
    expression="T = (1 − r²) e^(−jq) / (1 − r² e^(−2jq)), q = 2π D √η / λ, L = −20 log₁₀|T|",
    parameters=(
        FREQUENCY_MHZ,
        Parameter("thickness_m", "m", "thickness of the slab", minimum=0, maximum=100, high=1),
        Parameter("relative_permittivity", "", "real part, 1 in air", minimum=1, maximum=1000, high=100),
        Parameter("conductivity_s_per_m", "S/m", "conductivity", 0, high=10, minimum=0, maximum=1e8),
    ),
    result_unit="dB",
    source=Source("ITU-R P.2040", "4", "equations (37), (43b), (44), theta = 0", "read"),
    validity="flat homogeneous slab up to 1 m, plane wave head-on; most P.2040 constants start at 1 GHz",
)
def slab_loss_db(
    frequency_mhz: Numeric,
    thickness_m: Numeric,
    relative_permittivity: Numeric,
    conductivity_s_per_m: Numeric = 0,
) -> Numeric:
    """Loss in dB through a slab at normal incidence; not monotone in thickness (thin-film resonance).

    Numbers or arrays that broadcast. frequency_mhz > 0, relative_permittivity >= 1. For a loss beyond
    some 6000 dB the result stays there.
    """
    angular_frequency = 2e6 * np.pi * frequency_mhz
    eta = relative_permittivity - 1j * conductivity_s_per_m / (angular_frequency * VACUUM_PERMITTIVITY_F_PER_M)
    index = np.sqrt(eta)
    reflection = (1 - index) / (1 + index)
    phase = 2 * np.pi * thickness_m / wavelength_m(frequency_mhz) * index
    phase = phase.real + 1j * np.maximum(phase.imag, -_MOST_NEPERS)
    once = np.exp(-1j * phase)
    through = (1 - reflection**2) * once / (1 - reflection**2 * once**2)
    # 0.0 minus: no slab is 0 dB, not -0 dB
    loss: Numeric = 0.0 - 20 * np.log10(np.abs(through))
    return loss
