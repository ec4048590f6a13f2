"""Body loss of a worn node as a distribution over how the performer stands."""

from typing import Final

import numpy as np
import numpy.typing as npt

from showplan.physics.catalogue import FloatArray, Numeric, Parameter, Source, formula
from showplan.physics.parameters import loss_parameter

# Shares of the time, assumption from memory: a performer turns evenly, a quarter of the circle faces the
# gateway, a quarter puts the body between. Powers of two, so their sums are exact.
FACING_SHARE: Final = 0.25
SIDE_SHARE: Final = 0.5
BLOCKED_SHARE: Final = 0.25

_SHARES: Final[npt.NDArray[np.float64]] = np.array([FACING_SHARE, SIDE_SHARE, BLOCKED_SHARE])
_ASSUMPTION: Final = Source("body loss over orientation, shares 1/4, 1/2, 1/4 (assumption)", standing="memory")
_VALIDITY: Final = (
    "an assumption: losses and shares are engineering guesses; measure with the costume worn, then replace them"
)
_LOSSES: Final = (
    loss_parameter("facing_loss_db", "loss with the node towards the other end"),
    loss_parameter("side_loss_db", "loss with the node at the side"),
    loss_parameter("blocked_loss_db", "loss with the body in between"),
)


def _by_posture(facing: Numeric, side: Numeric, blocked: Numeric) -> FloatArray:
    """The three losses on a new last axis, broadcast against each other."""
    return np.stack(np.broadcast_arrays(facing, side, blocked), axis=-1)


@formula(
    expression="L = L_facing / 4 + L_side / 2 + L_blocked / 4",
    parameters=_LOSSES,
    result_unit="dB",
    source=_ASSUMPTION,
    validity=_VALIDITY,
)
def body_loss_mean_db(facing_loss_db: Numeric, side_loss_db: Numeric, blocked_loss_db: Numeric) -> Numeric:
    """Mean over orientation of the body loss, averaged in dB (not in mW). Arrays broadcast."""
    return FACING_SHARE * facing_loss_db + SIDE_SHARE * side_loss_db + BLOCKED_SHARE * blocked_loss_db


@formula(
    expression="σ = √(Σ p (L − mean)²)",
    parameters=_LOSSES,
    result_unit="dB",
    source=_ASSUMPTION,
    validity=_VALIDITY,
)
def body_loss_sigma_db(facing_loss_db: Numeric, side_loss_db: Numeric, blocked_loss_db: Numeric) -> Numeric:
    """Standard deviation over orientation of the body loss in dB. Arrays broadcast."""
    losses = _by_posture(facing_loss_db, side_loss_db, blocked_loss_db)
    deviations = losses - (losses @ _SHARES)[..., None]
    sigma: Numeric = np.sqrt(deviations**2 @ _SHARES)
    return sigma


@formula(
    expression="L = smallest loss that is not exceeded for at least this share of orientations",
    parameters=(
        *_LOSSES,
        Parameter("share", "", "share of orientations to serve", minimum=0, maximum=1, low=0, high=1),
    ),
    result_unit="dB",
    source=_ASSUMPTION,
    validity=_VALIDITY,
)
def body_loss_quantile_db(
    facing_loss_db: Numeric, side_loss_db: Numeric, blocked_loss_db: Numeric, share: Numeric
) -> Numeric:
    """Body loss in dB that is enough for a share (0 to 1) of orientations: up to 1/4 the least of three.

    The losses need not be in order. Numbers or arrays that broadcast.
    """
    losses = _by_posture(facing_loss_db, side_loss_db, blocked_loss_db)
    order = np.argsort(losses, axis=-1, kind="stable")
    served = np.cumsum(_SHARES[order], axis=-1)
    wanted = np.asarray(share)[..., None]
    losses, served, wanted = np.broadcast_arrays(np.take_along_axis(losses, order, -1), served, wanted)
    first_enough = np.argmax(served >= wanted, axis=-1)[..., None]
    quantile: Numeric = np.take_along_axis(losses, first_enough, -1)[..., 0][()]
    return quantile
