"""Indoor path loss by kind of surroundings, without a wall plan."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.constants import NEAREST_DISTANCE_M
from showplan.physics.free_space import free_space_loss_db
from showplan.physics.parameters import DISTANCE_M, FREQUENCY_MHZ, level_parameter, loss_parameter

# dB, ITU-R P.1238 up to about edition 9: the rounded constant of the Recommendation, kept for fidelity to
# its tables. The exact free-space constant is -27.55, so N = 20 lies 0.448 dB below free space.
SITE_GENERAL_CONSTANT_DB: Final = -28.0


@formula(
    expression="L = 20 log₁₀(f) + N log₁₀(d) + L_f(n) − 28, f in MHz, d in m, d ≥ 1 m",
    parameters=(
        DISTANCE_M,
        Parameter("frequency_mhz", "MHz", "radio frequency", above=0, maximum=1e6, low=800, high=6000),
        Parameter("power_loss_coefficient", "", "N, by surroundings and band", minimum=0, maximum=100, low=18, high=40),
        loss_parameter("floor_penetration_db", "loss of the floors between the ends", default=0),
    ),
    result_unit="dB",
    source=Source(
        "ITU-R P.1238, site-general model", "up to about 9", "form and most rows read in public sources", "read"
    ),
    validity="mean loss inside one building, table rows from 900 to 5200 MHz, beyond 1 m; the constant −28 is the "
    "Recommendation's rounded one, 0.45 dB less than free space for N = 20; a distance below 1 m counts as 1 m",
)
def site_general_loss_db(
    distance_m: Numeric, frequency_mhz: Numeric, power_loss_coefficient: Numeric, floor_penetration_db: Numeric = 0
) -> Numeric:
    """Mean indoor path loss in dB from a power loss coefficient, walls included and floors added.

    distance_m is clamped to 1 m and more; frequency_mhz > 0. Numbers or arrays that broadcast.
    Coefficients and floor terms: `showplan.reference.indoor`.
    """
    decades = np.log10(np.maximum(distance_m, NEAREST_DISTANCE_M))
    loss: Numeric = 20 * np.log10(frequency_mhz) + power_loss_coefficient * decades + SITE_GENERAL_CONSTANT_DB
    return loss + floor_penetration_db


@formula(
    expression="L = 10 α log₁₀(d) + β + 10 γ log₁₀(f), f in GHz, d in m, d ≥ 1 m",
    parameters=(
        Parameter("distance_m", "m", "length of the path, clamped to 1 m and more", None, 2, 160, 0, 1e9),
        Parameter("frequency_mhz", "MHz", "radio frequency", above=0, maximum=1e6, low=300, high=83_500),
        Parameter("alpha", "", "α: 2 in free space", minimum=0, maximum=20, low=1, high=5),
        Parameter("beta_db", "dB", "β: loss at 1 m and 1 GHz", minimum=-1000, maximum=1000, low=0, high=60),
        Parameter("gamma", "", "γ: 2 in free space", minimum=-20, maximum=20, low=0, high=5),
    ),
    result_unit="dB",
    source=Source("ITU-R P.1238", "11", "Table 2, coefficients read in one public script: have it checked", "read"),
    validity="median loss on one floor, 2 to 160 m and 300 to 83,500 MHz at the widest; each row of the table has "
    "narrower ranges; rows with a clear view may lie below free space (the room guides the wave)",
)
def alpha_beta_gamma_loss_db(
    distance_m: Numeric, frequency_mhz: Numeric, alpha: Numeric, beta_db: Numeric, gamma: Numeric
) -> Numeric:
    """Median indoor path loss in dB with slopes for distance and frequency, both ends on one floor.

    distance_m is clamped to 1 m and more; frequency_mhz > 0 is turned into GHz inside. Numbers or arrays
    that broadcast. Not clamped to free space: see `below_free_space_db`.
    """
    decades = np.log10(np.maximum(distance_m, NEAREST_DISTANCE_M))
    frequency_ghz = frequency_mhz / 1000
    loss: Numeric = 10 * alpha * decades + beta_db + 10 * gamma * np.log10(frequency_ghz)
    return loss


@formula(
    expression="ΔL = max(L_fs(d, f) − L, 0)",
    parameters=(level_parameter("path_loss_db", "path loss of a model"), DISTANCE_M, FREQUENCY_MHZ),
    result_unit="dB",
    source=Source("difference to ITU-R P.525 free space", standing="derived"),
    validity="a result above 0 calls for a note: only a corridor or hall that guides the wave goes below free space",
)
def below_free_space_db(path_loss_db: Numeric, distance_m: Numeric, frequency_mhz: Numeric) -> Numeric:
    """By how many dB a model's loss lies below free space, 0 if it does not. Arrays broadcast."""
    gain: Numeric = np.maximum(free_space_loss_db(distance_m, frequency_mhz) - path_loss_db, 0.0)
    return gain
