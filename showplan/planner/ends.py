"""The two ends of a link: power, antenna gain and pattern, cable, polarisation, body, and what the receiver needs."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showplan import reference
from showplan.physics.antennas import dipole_pattern_db, patch_pattern_db
from showplan.physics.body import BLOCKED_SHARE, FACING_SHARE, SIDE_SHARE
from showplan.physics.polarisation import polarisation_loss_db
from showplan.planner.scene import Node, NodeType, Placement, Scene

Floats = NDArray[np.float64]
# Linear against circular polarisation, and a worn antenna that may lean anyhow, cost as much as 45 degrees.
LEANING_DEG = 45.0
CROSSED_DEG = 90.0


@dataclass(frozen=True)
class End:
    """One node as one end of links at one frequency.

    `aim` is the unit vector in which a patch looks. `moves`: the node is in a zone or worn, so it meets fast fading.
    """

    node_type: NodeType
    is_worn: bool
    moves: bool
    aim: Floats

    def pattern_db(self, direction: Floats) -> Floats:
        """Gain relative to the antenna's greatest, in dB, towards unit vectors (..., 3)."""
        match self.node_type.antenna_pattern:
            case "dipole":
                elevation_deg = np.degrees(np.arcsin(np.clip(direction[..., 2], -1, 1)))
                return dipole_pattern_db(elevation_deg)
            case "patch":
                off_axis_deg = np.degrees(np.arccos(np.clip(direction @ self.aim, -1, 1)))
                kind = self.node_type
                return patch_pattern_db(off_axis_deg, kind.pattern_exponent, kind.front_to_back_db)
            case _:
                return np.zeros(direction.shape[:-1])

    @property
    def gain_db(self) -> float:
        """Greatest antenna gain less the cable's loss."""
        return self.node_type.antenna_gain_dbi - self.node_type.cable_loss_db


def end_of(scene: Scene, node: Node) -> End:
    """The end that a placed node is."""
    place = node.placement
    assert place is not None
    return End(scene.node_type(node.node_type), node.is_worn, node.is_worn or place.zone is not None, _aim(place))


def listening_end(node_type: NodeType, *, is_worn: bool) -> End:
    """A receiver that may be anywhere: it moves, and its antenna looks nowhere in particular."""
    return End(node_type, is_worn, True, np.array([1.0, 0.0, 0.0]))


def mismatch_db(one: End, other: End) -> float:
    """Loss in dB by polarisation between two ends."""
    if one.is_worn or other.is_worn:
        return float(polarisation_loss_db(LEANING_DEG))
    kinds = {one.node_type.polarisation, other.node_type.polarisation}
    if len(kinds) == 1:
        return 0.0
    return float(polarisation_loss_db(LEANING_DEG if "circular" in kinds else CROSSED_DEG))


def body_losses(one: End, other: End, frequency_mhz: float) -> list[tuple[float, float]]:
    """(probability, loss in dB) for every combination of how the bodies of worn ends stand; [(1, 0)] without any."""
    combinations = [(1.0, 0.0)]
    for end in (one, other):
        if end.is_worn:
            postures = (("facing", FACING_SHARE), ("side", SIDE_SHARE), ("blocked", BLOCKED_SHARE))
            combinations = [
                (share * probability, loss_db + reference.body_loss_db(frequency_mhz, posture))
                for posture, share in postures
                for probability, loss_db in combinations
            ]
    return combinations


def mean_body_loss_db(one: End, other: End, frequency_mhz: float) -> float:
    """Mean of the body losses in dB."""
    return sum(probability * loss_db for probability, loss_db in body_losses(one, other, frequency_mhz))


def _aim(place: Placement) -> Floats:
    aim, tilt = np.radians(place.aim_deg), np.radians(place.tilt_deg)
    return np.array([np.cos(tilt) * np.cos(aim), np.cos(tilt) * np.sin(aim), np.sin(tilt)])
