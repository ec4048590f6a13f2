"""From received power to what a receiver makes of it: noise rise by other radio, margin, probability, packet error."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showplan import reference
from showplan.physics.decibels import add_powers_dbm
from showplan.physics.error_rate import (
    bpsk_bit_error_rate,
    oqpsk_bit_error_rate,
    packet_error_rate,
    sub_ghz_oqpsk_bit_error_rate,
)
from showplan.physics.fading import availability
from showplan.physics.interference import interference_after_rejection_dbm, overlap_share
from showplan.physics.noise import thermal_noise_dbm
from showplan.physics.shadowing import lognormal_availability
from showplan.planner.obstacles import HouseState
from showplan.planner.scene import NodeType, OccupiedSpectrum, Scene

Floats = NDArray[np.float64]
# A show's usual packet: 60 octets of PSDU (the length that the air-time tables take as typical).
PACKET_OCTETS = 60


@dataclass(frozen=True)
class Surroundings:
    """What a receiver of one network hears besides it: interference in its band, and how power strays."""

    frequency_mhz: float
    bandwidth_mhz: float
    interference_dbm: float
    shadowing_sigma_db: float

    def noise_rise_db(self, node_type: NodeType) -> float:
        """By how much the interference lifts what this receiver needs; 0 where there is none."""
        noise_dbm = self._noise_dbm(node_type)
        return float(add_powers_dbm(noise_dbm, self.interference_dbm)) - noise_dbm

    def needed_dbm(self, node_type: NodeType) -> float:
        """Mean received power at which the receiver just works here."""
        return node_type.sensitivity_dbm + self.noise_rise_db(node_type)

    def probability(self, margin_db: Floats, *, moves: bool) -> Floats:
        """Probability that a link with this mean margin closes; Rayleigh fading comes on top where an end moves."""
        if moves:
            return np.asarray(availability(margin_db, self.shadowing_sigma_db))
        return np.asarray(lognormal_availability(margin_db, self.shadowing_sigma_db))

    def packet_error(self, received_dbm: Floats, node_type: NodeType) -> Floats:
        """Packet error at this received power, fading left aside: PACKET_OCTETS in noise and interference."""
        total_dbm = float(add_powers_dbm(self._noise_dbm(node_type), self.interference_dbm))
        sinr_db = received_dbm - total_dbm
        match node_type.phy:
            case "oqpsk-2450":
                errors = oqpsk_bit_error_rate(sinr_db)
            case "oqpsk-868" | "oqpsk-915":
                errors = sub_ghz_oqpsk_bit_error_rate(sinr_db)
            case _:
                phy = reference.phys()[node_type.phy]
                spread_db = 10 * np.log10(phy.noise_bandwidth_mhz * 1000 / phy.bit_rate_kbps)
                errors = bpsk_bit_error_rate(sinr_db + spread_db)
        return np.asarray(packet_error_rate(errors, PACKET_OCTETS))

    def _noise_dbm(self, node_type: NodeType) -> float:
        return float(thermal_noise_dbm(self.bandwidth_mhz, node_type.noise_figure_db))


def surroundings_of(scene: Scene, phy_key: str, frequency_mhz: float, state: HouseState) -> Surroundings:
    """The surroundings of a network in one state of the house."""
    phy = reference.phys()[phy_key]
    bandwidth_mhz = phy.noise_bandwidth_mhz
    parts = [
        part
        for other in scene.occupied_spectrum
        if (part := interference_of(other, frequency_mhz, bandwidth_mhz, state)) is not None
    ]
    total_dbm = float(add_powers(parts)) if parts else float("-inf")
    calibration = scene.venue.calibration
    sigma_db = (
        calibration.shadowing_sigma_db
        if calibration is not None
        else reference.environments()[scene.venue.environment].shadowing_sigma_db
    )
    return Surroundings(frequency_mhz, bandwidth_mhz, total_dbm, sigma_db)


def interference_of(
    other: OccupiedSpectrum, frequency_mhz: float, bandwidth_mhz: float, state: HouseState
) -> float | None:
    """Power in dBm of an occupant that falls into a receiver's band; None where none does or its level is unknown."""
    level_dbm = other.received_dbm
    if state == "full" and other.full_house_dbm is not None:
        level_dbm = other.full_house_dbm
    share = float(overlap_share(frequency_mhz, bandwidth_mhz, other.centre_mhz, other.bandwidth_mhz))
    if level_dbm is None or share <= 0:
        return None
    return float(interference_after_rejection_dbm(level_dbm, 0.0, share))


def add_powers(powers_dbm: list[float]) -> float:
    """Sum of powers in dBm."""
    return float(10 * np.log10(np.sum(10 ** (np.array(powers_dbm) / 10))))
